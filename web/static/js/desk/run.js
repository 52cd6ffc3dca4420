import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { costs, statusName } from '../board/view.js'
import { cost, exactTime, ofDay, points, time } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { stageName } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { AdditionForm, RulingForm, StatusForm, TimeBackForm } from './forms.js'

/** One run: its result, its findings with all they stand on, and what is open. */
export function RunCard({ state, derived, onRecord }) {
  const [form, setForm] = useState(null)
  const { run, card, findings, rules } = derived
  if (!run || !card) return html`<p class="blank">${say('Fetching the run…')}</p>`
  const close = () => setForm(null)
  const decide = kind => what => { close(); onRecord([[kind, what]]) }
  return html`<article class="run-card">
    <header><h2>${run.team_name}</h2>
      <p>${run.division && `${run.division} · `}${run.bay} · ${stageName(card.stage)}</p></header>
    <${Result} card=${card} step=${state.clock.step} />
    <div class="acts">
      <button type="button" onClick=${() => setForm('addition')}>${say('Add a finding')}</button>
      <button type="button" onClick=${() => setForm('time')}>${say('Give time back')}</button>
      <button type="button" onClick=${() => setForm('status')}>${say('How it ended')}</button>
    </div>
    ${card.dangers.length > 0 && html`<section class="odd"><h3><${Icon} name="danger" />${sayMany('{n} danger stop', '{n} danger stops', card.dangers.length)}</h3>
      <ul>${card.dangers.map(entry => html`<li key=${entry.id}>${standsOn(entry, state)}</li>`)}</ul></section>`}
    ${card.anomalies.length > 0 && html`<section class="odd"><h3><${Icon} name="wrong" />${say('Odd on the record')}</h3>
      <ul>${card.anomalies.map((odd, n) => html`<li key=${n}>${odd}</li>`)}</ul></section>`}
    ${card.orphans.length > 0 && html`<section class="odd"><h3>${say('Rulings on findings that no longer stand')}</h3>
      <ul>${card.orphans.map(entry => html`<li key=${entry.id}>${standsOn(entry, state)}</li>`)}</ul></section>`}
    <h3>${findings.length ? sayMany('{n} finding', '{n} findings', findings.length) : say('No findings')}</h3>
    <ol class="findings">${findings.map(finding => html`<${FindingCard} key=${finding.id} finding=${finding} state=${state}
      onRule=${decision => setForm({ finding, decision })} />`)}</ol>
    <${Questions} questions=${card.questions} rules=${rules} />
    ${form === 'addition' && html`<${AdditionForm} rules=${state.rules} onAdd=${decide('addition')} onClose=${close} />`}
    ${form === 'time' && html`<${TimeBackForm} onGive=${decide('time-back')} onClose=${close} />`}
    ${form === 'status' && html`<${StatusForm} current=${card.status} onRule=${decide('status')} onClose=${close} />`}
    ${form?.finding && html`<${RulingForm} ...${form} onRule=${decide('ruling')} onClose=${close} />`}
  </article>`
}

function Result({ card, step }) {
  const { official, total, status, why, outcome, unit } = card
  return html`<dl class="result">
    <div><dt>${say('Official time')}</dt><dd>${official ? exactTime(official.time, step) : '–'}
      ${official && html`<small>${official.way ?? say('by the signals')}${official.readings.length > 0 && `: ${official.readings.map(each => exactTime(each)).join(', ')}`}${official.back !== 0 && `; ${say('{time} given back', { time: exactTime(official.back) })}`}</small>`}</dd></div>
    <div><dt>${say('Penalties')}</dt><dd>${costs(card)}</dd></div>
    <div><dt>${say('Total')}</dt><dd>${total === null ? status ?? '–' : unit === 'points' ? points(total) : exactTime(total, step)}${outcome && html` <b>${statusName(card)}</b>`}${why && html`<small>${why}</small>`}</dd></div>
    <div><dt>${say('Undecided')}</dt><dd>${card.undecided}</dd></div>
  </dl>`
}

function standsOn(entry, state) {
  const post = state.posts[entry.post]?.title ?? say('no post')
  const when = entry.into === null ? ofDay(entry.at) : time(entry.into, 1)
  return html`<span class="when">${when}</span> <b>${entry.by_name}</b> <span class="of-post">(${post})</span> <span>${entry.says}</span>`
}

/** Which shape a finding's state has. */
const SHAPES = { proposed: 'wrong', counts: 'good', 'struck out': 'missing' }

function FindingCard({ finding, state, onRule }) {
  const { ruling } = finding
  const isSpoken = state.rules.find(rule => rule.id === finding.rule)?.kind === 'callout'
  const label = { proposed: say('waits for a decision'), counts: say('counts'), 'struck out': say('struck out') }[finding.state]
  return html`<li class="finding is-${finding.state.replace(' ', '-')}" data-finding=${finding.id}>
    <div class="finding-head">
      <span class="finding-state"><${Icon} name=${SHAPES[finding.state]} />${label}</span>
      <b class="cost">${finding.disqualifies ? say('disqualified') : finding.cost ? cost(finding.cost, finding.unit) : say('no cost')}</b>
      ${finding.at !== null && html`<span class="when">${say('at {time}', { time: time(finding.at, 1) })}</span>`}
    </div>
    <p class="finding-text"><b>${finding.rule}</b> ${finding.fault}${finding.item && `: ${finding.item}`}${finding.count > 1 ? ` × ${finding.count}` : ''}
      ${isSpoken ? html`<q class="text" lang=${state.event.language}>${finding.text}</q>` : html`<span class="text" lang=${state.event.language}>${finding.text}</span>`}</p>
    <p class="how">${finding.how}${finding.margin !== null && finding.margin !== undefined && `; ${say('by {time}', { time: exactTime(finding.margin) })}`}</p>
    ${finding.doubts.length > 0 && html`<p class="doubts"><${Icon} name="wrong" />${finding.doubts.join('; ')}</p>`}
    <details open><summary>${sayMany('Stands on {n} entry', 'Stands on {n} entries', finding.stands_on.length)}</summary>
      <ul class="stands-on">${finding.stands_on.map(entry => html`<li key=${entry.id}>${standsOn(entry, state)}</li>`)}</ul></details>
    ${ruling && html`<p class="ruling"><${Icon} name="change" />${say('{who}: {decision}. {reason}', {
      who: ruling.by_name,
      decision: { uphold: say('upheld'), strike: say('struck out'), change: say('cost changed'), add: say('added') }[ruling.decision],
      reason: ruling.reason,
    })}</p>`}
    <div class="acts">
      <button type="button" onClick=${() => onRule('uphold')}>${say('Uphold')}</button>
      <button type="button" onClick=${() => onRule('strike')}>${say('Strike out')}</button>
      <button type="button" onClick=${() => onRule('change')}>${say('Change')}</button>
    </div>
  </li>`
}

/** What the posts have left open, together where a whole rule is. */
function Questions({ questions, rules }) {
  if (!questions.length) return null
  const byRule = {}
  for (const question of questions) byRule[question.rule] = [...(byRule[question.rule] ?? []), question]
  return html`<details class="questions"><summary>${sayMany('{n} open question', '{n} open questions', questions.length)}</summary>
    <ul>${Object.entries(byRule).map(([rule, those]) => html`<li key=${rule}><b>${rule}</b> ${rules[rule]?.text ?? ''}
      ${those.some(each => each.item) && ` – ${those.map(each => each.item).join(', ')}`}
      ${those.some(each => each.unseen) && html`<span class="unseen-mark"><${Icon} name="unseen" />${say('not seen')}</span>`}</li>`)}</ul></details>`
}
