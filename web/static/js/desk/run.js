import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { costs, statusName, timeCost } from '../board/view.js'
import { cost, exactTime, ofDay, points, time } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { momentOf } from '../lib/touch.js'
import { stageName } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { Asked } from '../post/closing.js'
import { Pad } from '../post/controls/pad.js'
import { Signing } from '../post/signing.js'
import { AdditionForm, GivenForm, RulingForm, SignatureForm, StatusForm, TimeBackForm } from './forms.js'

/** One run: its result, its findings with all they stand on, and what is open. */
export function RunCard({ state, derived, onRecord }) {
  const [form, setForm] = useState(null)
  const { run, card, findings, givens, asked } = derived
  if (!run || !card) return html`<p class="blank">${say('Fetching the run…')}</p>`
  const close = () => setForm(null)
  const decide = kind => what => { close(); onRecord([[kind, what]]) }
  const acts = actsOf(onRecord, setForm)
  return html`<article class="run-card">
    <header><h2>${run.team_name}</h2>
      <p>${run.division && `${run.division} · `}${run.bay} · ${stageName(card.stage)}</p></header>
    <${Result} card=${card} step=${state.clock.step} />
    <div class="acts">
      <button type="button" onClick=${() => setForm('addition')}>${say('Add a finding')}</button>
      <button type="button" onClick=${() => setForm('time')}>${say('Give time back')}</button>
      <button type="button" onClick=${() => setForm('status')}>${say('How it ended')}</button>
    </div>
    <${Givens} givens=${givens} onGive=${given => setForm({ given })} />
    ${card.assessed && html`<${Signing} assessed=${card.assessed} onSign=${() => setForm('signature')} />`}
    ${card.dangers.length > 0 && html`<section class="odd"><h3><${Icon} name="danger" />${sayMany('{n} danger stop', '{n} danger stops', card.dangers.length)}</h3>
      <ul>${card.dangers.map(entry => html`<li key=${entry.id}>${standsOn(entry, state)}</li>`)}</ul></section>`}
    ${card.anomalies.length > 0 && html`<section class="odd"><h3><${Icon} name="wrong" />${say('Odd on the record')}</h3>
      <ul>${card.anomalies.map((odd, n) => html`<li key=${n}>${odd}</li>`)}</ul></section>`}
    ${card.orphans.length > 0 && html`<section class="odd"><h3>${say('Rulings on findings that no longer stand')}</h3>
      <ul>${card.orphans.map(entry => html`<li key=${entry.id}>${standsOn(entry, state)}</li>`)}</ul></section>`}
    <h3>${findings.length ? sayMany('{n} finding', '{n} findings', findings.length) : say('No findings')}</h3>
    <ol class="findings">${findings.map(finding => html`<${FindingCard} key=${finding.id} finding=${finding} state=${state}
      onRule=${decision => setForm({ finding, decision })} />`)}</ol>
    <${Questions} asked=${asked} language=${state.event.language} acts=${acts} />
    ${form === 'addition' && html`<${AdditionForm} rules=${state.rules} onAdd=${decide('addition')} onClose=${close} />`}
    ${form === 'time' && html`<${TimeBackForm} onGive=${decide('time-back')} onClose=${close} />`}
    ${form === 'status' && html`<${StatusForm} current=${card.status} onRule=${decide('status')} onClose=${close} />`}
    ${form === 'signature' && html`<${SignatureForm} outcome=${card.assessed.outcome} onSign=${decide('signature')} onClose=${close} />`}
    ${form?.given && html`<${GivenForm} ...${form.given} onGive=${decide('given')} onClose=${close} />`}
    <${Pad} sheet=${form} cards=${asked.flatMap(each => each.card ?? [])} language=${state.event.language} acts=${acts} onClose=${close} />
    ${form?.finding && html`<${RulingForm} ...${form} onRule=${decide('ruling')} onClose=${close} />`}
  </article>`
}

/** What the head judge can say of a rule that no post has seen. */
function actsOf(onRecord, setForm) {
  const say = (kind, card, what, event) => onRecord([[kind, { rule: card.rule.id, ...what }]], { moment: momentOf(event) })
  return {
    isHead: true,
    open: (card, item = card.next) => setForm({ pad: card.rule.id, item }),
    answer: (card, item, outcome, event) => say('mark', card, { outcome, item, timed: false }, event),
    moved: (card, moment, item, event) => say('moved', card, { moment, item }, event),
    measured: (card, amount, item, event) => say('measured', card, { amount, item }, event),
    value: (card, value, item, event, legible = true) => say('value', card, { value, item, legible }, event),
    count: (card, count, event) => say('count', card, { count }, event),
    allDone: ([card], event) => onRecord(card.left.map(item =>
      ['mark', { rule: card.rule.id, outcome: 'good', item, timed: false }]), { moment: momentOf(event) }),
  }
}

/** What was drawn for the run, or measured at its bay. */
function Givens({ givens, onGive }) {
  if (!givens.length) return null
  return html`<section class="givens" aria-label=${say('Drawn for this run')}><h3>${say('Drawn for this run')}</h3>
    <ul>${givens.map(each => html`<li key=${each.name}><span>${each.name}</span>
      ${each.value === null ? html`<span class="is-wrong"><${Icon} name="wrong" />${say('not given yet')}</span>` : html`<b>${each.value}${each.given.unit && !each.value.endsWith(each.given.unit) && ` ${each.given.unit}`}</b>`}
      <button type="button" onClick=${() => onGive(each)}>${each.value === null ? say('Give {name}', { name: each.name }) : say('Change {name}', { name: each.name })}</button></li>`)}</ul></section>`
}

function Result({ card, step }) {
  const { official, total, status, why, outcome, unit } = card
  return html`<dl class="result">
    <div><dt>${say('Official time')}</dt><dd>${official ? exactTime(official.time, step) : '–'}
      ${official && html`<small>${official.way ?? say('by the signals')}${official.readings.length > 0 && `: ${official.readings.map(each => exactTime(each)).join(', ')}`}${official.back !== 0 && `; ${say('{time} given back', { time: exactTime(official.back) })}`}</small>`}</dd></div>
    <div><dt>${say('Penalties')}</dt><dd>${costs(card)}${card.time_cost !== 0 && html`<small>${timeCost(card.time_cost)}</small>`}</dd></div>
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
  const label = {
    proposed: say('waits for a decision'),
    counts: finding.bonus ? say('given') : say('counts'),
    'struck out': say('struck out'),
  }[finding.state]
  return html`<li class="finding is-${finding.state.replace(' ', '-')} ${finding.bonus ? 'is-bonus' : ''}" data-finding=${finding.id}>
    <div class="finding-head">
      <span class="finding-state"><${Icon} name=${finding.bonus && finding.state === 'counts' ? 'gift' : SHAPES[finding.state]} />${label}</span>
      <b class="cost">${finding.ends ?? (finding.cost ? finding.bonus ? say('{amount} given', { amount: cost(-finding.cost, finding.unit) }) : cost(finding.cost, finding.unit) : say('no cost'))}</b>
      ${finding.at !== null && html`<span class="when">${say('at {time}', { time: time(finding.at, 1) })}</span>`}
    </div>
    <p class="finding-text"><b>${finding.rule}</b> ${finding.fault}${finding.item && `: ${finding.item}`}${finding.count > 1 ? ` × ${finding.count}` : ''}
      ${isSpoken ? html`<q class="text" lang=${state.event.language}>${finding.text}</q>` : html`<span class="text" lang=${state.event.language}>${finding.text}</span>`}</p>
    ${finding.detail && html`<p class="detail">${finding.detail}</p>`}
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

/** What the posts have left open: what nobody saw can be answered here, the rest by its post. */
function Questions({ asked, language, acts }) {
  if (!asked.length) return null
  const mine = asked.filter(({ left }) => left.length > 0)
  const others = asked.filter(({ left }) => left.length === 0)
  const n = asked.reduce((sum, { items }) => sum + items.length, 0)
  return html`<details class="questions" open=${mine.length > 0}><summary>${sayMany('{n} open question', '{n} open questions', n)}</summary>
    ${mine.length > 0 && html`<h3><${Icon} name="unseen" />${say('Nobody saw these: you answer')}</h3>
      <ul class="rows">${mine.map(({ rule, card }) => html`<${Asked} key=${rule} card=${card} language=${language} acts=${acts} />`)}</ul>`}
    ${others.length > 0 && html`<h3>${say('Still open')}</h3><ul class="facts">${others.map(({ rule, items, card }) => html`<li key=${rule}><b>${rule}</b> ${card?.rule.text ?? ''}
      ${items.some(Boolean) && ` – ${items.join(', ')}`}</li>`)}</ul>`}</details>`
}
