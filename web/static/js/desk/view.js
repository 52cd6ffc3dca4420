import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { costs, statusName, timeCost } from '../board/view.js'
import { exactTime, ofDay, points } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { DangerStop, Saving, stageName, Trouble } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { PostingForm } from './forms.js'
import { RunCard } from './run.js'
import { derive } from './state.js'

/** The head judge's desk. */
export function Desk({ session, onPublish }) {
  const state = session.state.value
  const [part, setPart] = useState('runs')
  if (!state.me) return html`<main class="blank"><h1>${say('Head judge')}</h1><p>${say('Connecting…')}</p><${Trouble} session=${session} /></main>`
  const derived = derive(state)
  const record = (kinds, when) => session.record(derived.run.id, kinds, when)
  const mine = state.waiting.filter(entry => entry.by === state.me.person)
  const tab = (name, label) => html`<button type="button" aria-pressed=${part === name ? 'true' : 'false'} onClick=${() => setPart(name)}>${label}</button>`
  return html`<div class="screen desk shows-${part}">
    <header class="head">
      <h1>${state.event.title}</h1>
      <nav class="parts" aria-label=${say('Parts of this screen')}>${tab('runs', say('Runs'))}${tab('standings', say('Standings'))}</nav>
      ${derived.run && html`<${DangerStop} onDanger=${moment => record([['signal', { signal: 'danger', reason: '' }]], { moment })} />`}
      <div class="head-line"><${Saving} session=${session} saved=${mine.length} waiting=${mine.length} refused=${state.refused} />
        <${Posted} posting=${state.posting} /><a href="/desk/briefing">${say('Briefing and sheets')}</a><a href="/desk/links">${say('Sign-in links')}</a><a href="/out">${say('Sign out')}</a></div>
    </header>
    <${Trouble} session=${session} />
    <div role="alert">${derived.dangers.map(run => html`<p key=${run.id} class="danger-band"><${Icon} name="danger" />
      <strong>${say('Danger stop')}</strong> <span>${say('{team}, {bay}: the clock is held.', { team: run.team_name, bay: run.bay })}</span></p>`)}</div>
    ${state.refused.length > 0 && html`<section class="odd"><h2>${say('Refused by the server')}</h2>
      <ul>${state.refused.map(({ entry, error }) => html`<li key=${entry.id}>${entry.kind}, ${ofDay(entry.at)}: ${error.says}</li>`)}</ul></section>`}
    <main>
      ${part === 'runs' && html`<div class="desk-runs">
        <nav aria-label=${say('Runs')}><${Runs} runs=${derived.runs} chosen=${state.chosen} onPick=${run => session.tell({ name: 'picked', run })} /></nav>
        <${RunCard} key=${state.chosen} state=${state} derived=${derived} onRecord=${record} /></div>`}
      ${part === 'standings' && html`<${Standings} rows=${state.rows} result=${state.result} step=${state.clock.step} posting=${state.posting} undecided=${derived.undecided} onPublish=${onPublish} />`}
    </main>
  </div>`
}

function Posted({ posting }) {
  return html`<span class="posted"><${Icon} name="post" />${posting
    ? say('Posting {n}, {standing}, {time}', { n: posting.number, standing: posting.standing, time: ofDay(posting.posted_at) })
    : say('nothing posted yet')}</span>`
}

function Runs({ runs, chosen, onPick }) {
  return html`<ul class="run-list">${runs.map(run => html`<li key=${run.id}>
    <button type="button" aria-pressed=${run.id === chosen ? 'true' : 'false'} onClick=${() => onPick(run.id)}>
      <span class="turn">${run.turn}</span><span class="team">${run.team_name}</span>
      <span class="where">${run.bay}</span>
      <span class="stage is-${run.stage.replace(' ', '-')}">${stageName(run.stage)}</span>
      ${run.row?.undecided > 0 && html`<span class="undecided"><${Icon} name="wrong" />${sayMany('{n} undecided', '{n} undecided', run.row.undecided)}</span>`}
    </button></li>`)}</ul>`
}

function Standings({ rows, result, step, posting, undecided, onPublish }) {
  const [asking, setAsking] = useState(null)
  // Nobody is ranked by an assessment.
  const isAssessed = result === 'assessment'
  const hasDivisions = rows.some(row => row.division)
  return html`<section class="standings">
    <header><h2>${say('Live standings, not posted')}</h2>
      <div class="acts">
        <button type="button" class="is-main" onClick=${() => setAsking('provisional')}>${say('Post provisional')}</button>
        <button type="button" onClick=${() => setAsking('official')}>${say('Post official')}</button>
        ${posting && html`<a class="button" href="/desk/standings.xlsx" download>${say('Posting {n} as a workbook', { n: posting.number })}</a>`}
        <a class="button" href="/board">${say('The board')}</a>
      </div></header>
    ${rows.some(row => row.attempts.length > 1) && html`<p>${say('Of several attempts those in bold count.')}</p>`}
    ${rows.length === 0 ? html`<p>${say('No runs are planned for this event.')}</p>` : html`<div class="table-room" tabindex="0" role="region" aria-label=${say('Standings')}><table>
      <thead><tr>${!isAssessed && html`<th scope="col">${say('Place')}</th>`}<th scope="col">${say('Team')}</th>${hasDivisions && html`<th scope="col">${say('Division')}</th>`}
        <th scope="col" class="number">${say('Time')}</th><th scope="col" class="number">${say('Penalties')}</th><th scope="col" class="number">${isAssessed ? say('Outcome') : say('Total')}</th>
        <th scope="col" class="number">${say('Findings')}</th><th scope="col" class="number">${say('Undecided')}</th><th scope="col">${say('Stage')}</th></tr></thead>
      <tbody>${rows.map(row => html`<tr key=${row.team}>
        ${!isAssessed && html`<td>${row.place ?? '–'}${row.tied && html` <small>${say('shared')}</small>`}</td>`}
        <th scope="row">${row.team_name}</th>
        ${hasDivisions && html`<td>${row.division}${row.division_place && html` <b>${row.division_place}</b>`}</td>`}
        <td class="number">${row.time === null ? '–' : exactTime(row.time, step)}${row.time_cost !== 0 && html`<small>${timeCost(row.time_cost)}</small>`}</td>
        <td class="number">${costs(row)}</td>
        <td class="number"><b>${row.total === null || row.outcome ? statusName(row) : row.unit === 'points' ? points(row.total) : exactTime(row.total, step)}</b>
          <${Attempts} row=${row} step=${step} />${row.broken_by && html`<small>${row.broken_by}</small>`}</td>
        <td class="number">${row.findings}</td><td class="number">${row.undecided}</td><td>${stageName(row.stage)}</td></tr>`)}</tbody></table></div>`}
    ${asking && html`<${PostingForm} standing=${asking} undecided=${undecided} onClose=${() => setAsking(null)}
      onPublish=${reason => { setAsking(null); onPublish(asking, reason) }} />`}
  </section>`
}

/** What each of several attempts came to. */
function Attempts({ row, step }) {
  if (row.attempts.length < 2) return null
  return html`<small class="attempts">${row.attempts.map(({ total, status, counts }, n) => {
    const said = total === null ? status ?? '–' : row.unit === 'points' ? points(total) : exactTime(total, step)
    return html`<span key=${n}>${counts ? html`<b>${said}</b>` : said}</span> `
  })}</small>`
}
