import { html } from '../../vendor/htm-preact.js'
import { useId, useState } from '../../vendor/preact-hooks.js'
import { thousandths, typedTime } from '../lib/format.js'
import { Sheet } from '../lib/widgets.js'
import { say } from '../lib/words.js'

/** A window that ends in a decision: fields, a reason that must be given, one button. */
function Decision({ title, verb, isReady = true, needsReason = true, onDecide, onClose, children }) {
  const [reason, setReason] = useState('')
  const id = useId()
  const isGiven = reason.trim().length > 0 || !needsReason
  return html`<${Sheet} title=${title} onClose=${onClose}>
    <form onSubmit=${event => { event.preventDefault(); if (isReady && isGiven) onDecide(reason.trim()) }}>
      ${children}
      <label for=${id}>${needsReason ? say('Reason (the crew reads it)') : say('Reason, if one is needed')}</label>
      <textarea id=${id} rows="3" maxlength="500" required=${needsReason} value=${reason} onInput=${event => setReason(event.target.value)} />
      <button type="submit" class="big is-main" disabled=${!isReady || !isGiven}>${verb}</button>
    </form>
  <//>`
}

function Field({ label, says = '', ...input }) {
  const id = useId()
  return html`<label for=${id}>${label}</label>
    <input id=${id} ...${input} aria-describedby=${`${id}-says`} /><p class="says" id=${`${id}-says`}>${says}</p>`
}

const verbs = () => ({ uphold: say('Uphold'), strike: say('Strike out'), change: say('Change the cost') })

/** A ruling on a finding. */
export function RulingForm({ finding, decision, onRule, onClose }) {
  const [cost, setCost] = useState('')
  const typed = decision === 'change' ? thousandths(cost) : null
  // What is given is a cost below nothing.
  const amount = typed !== null && finding.bonus ? -typed : typed
  return html`<${Decision} title=${`${verbs()[decision]}: ${finding.rule}, ${finding.fault}`} verb=${verbs()[decision]} onClose=${onClose}
      isReady=${decision !== 'change' || amount !== null}
      onDecide=${reason => onRule({ finding: finding.id, decision, reason, cost: amount, stands_on: finding.stands_on.map(entry => entry.id) })}>
    <p class="asked">${finding.text}</p>
    ${decision === 'change' && html`<${Field} label=${finding.bonus ? say('How much is given, in seconds or points') : say('New cost in seconds or points')} inputmode="decimal" value=${cost} required
      onInput=${event => setCost(event.target.value)} says=${cost && amount === null ? say('Write a number with at most three decimals, such as 12.5.') : ''} />`}
  <//>`
}

/** What was drawn for a run, or measured at its bay: a choice, a number or a date. */
export function GivenForm({ name, given, value, onGive, onClose }) {
  const [text, setText] = useState(value ?? '')
  const hint = given.unit ? say('A number in {unit}.', { unit: given.unit }) : given.date ? say('A date as {form}.', { form: given.date }) : ''
  return html`<${Sheet} title=${say('What is {name} in this run?', { name })} onClose=${onClose}>
    ${given.choices.length > 0
      ? html`<div class="choices">${given.choices.map(choice => html`<button type="button" key=${choice} aria-pressed=${choice === value ? 'true' : 'false'}
          onClick=${() => onGive({ name, value: choice })}>${choice}</button>`)}</div>`
      : html`<form onSubmit=${event => { event.preventDefault(); if (text.trim()) onGive({ name, value: text.trim() }) }}>
          <${Field} label=${name} maxlength="80" autocomplete="off" value=${text} says=${hint} onInput=${event => setText(event.target.value)} />
          <button type="submit" class="big is-main" disabled=${!text.trim()}>${say('Give it')}</button></form>`}
  <//>`
}

/** The head judge's signature on what an assessment has come to. */
export function SignatureForm({ outcome, onSign, onClose }) {
  const [remark, setRemark] = useState('')
  return html`<${Sheet} title=${outcome === 'competent' ? say('Sign: competent') : say('Sign: not yet')} onClose=${onClose}>
    <form onSubmit=${event => { event.preventDefault(); onSign({ outcome, remark: remark.trim() }) }}>
      <${Field} label=${say('Remark, if there is one')} maxlength="500" value=${remark} onInput=${event => setRemark(event.target.value)} />
      <button type="submit" class="big is-main">${say('Sign')}</button></form>
  <//>`
}

/** A finding that no tablet has marked. */
export function AdditionForm({ rules, onAdd, onClose }) {
  const [rule, setRule] = useState('')
  const [count, setCount] = useState('1')
  const id = useId()
  const n = /^\d{1,4}$/.test(count) ? Number(count) : 0
  return html`<${Decision} title=${say('Add a finding')} verb=${say('Add the finding')} isReady=${rule !== '' && n > 0} onClose=${onClose}
      onDecide=${reason => onAdd({ rule, count: n, reason })}>
    <label for=${id}>${say('Rule')}</label>
    <select id=${id} value=${rule} onChange=${event => setRule(event.target.value)}>
      <option value="">${say('Choose a rule')}</option>
      ${rules.map(each => html`<option key=${each.id} value=${each.id}>${each.id} – ${each.text.slice(0, 80)} (${each.costs})</option>`)}</select>
    <${Field} label=${say('How often')} inputmode="numeric" value=${count} onInput=${event => setCount(event.target.value)}
      says=${n > 0 ? '' : say('Write a whole number, 1 or more.')} />
  <//>`
}

/** Time given back to the crew, or taken. */
export function TimeBackForm({ onGive, onClose }) {
  const [text, setText] = useState('')
  const ms = typedTime(text)
  return html`<${Decision} title=${say('Give time back')} verb=${say('Give it back')} isReady=${Boolean(ms)} onClose=${onClose}
      onDecide=${reason => onGive({ time: ms, reason })}>
    <${Field} label=${say('How much')} inputmode="text" placeholder="1:30" value=${text} onInput=${event => setText(event.target.value)}
      says=${text && !ms ? say('Write it as 1:30 or as seconds, such as 12.5; a minus takes time.') : say('It comes off the official time. A minus takes time.')} />
  <//>`
}

const statuses = () => ({
  'did not start': say('did not start'),
  'did not finish': say('did not finish'),
  disqualified: say('disqualified'),
})

/** A run that ends without a place, or gets its place back. */
export function StatusForm({ current, onRule, onClose }) {
  const [status, setStatus] = useState('')
  return html`<${Decision} title=${say('How did this run end?')} verb=${say('Decide')} isReady=${status !== ''} onClose=${onClose}
      onDecide=${reason => onRule({ status: status === 'place' ? null : status, reason })}>
    <fieldset class="choices"><legend>${current ? say('Now: {status}', { status: statuses()[current] }) : say('Now: with a place, if there is a time')}</legend>
      ${[...Object.entries(statuses()), ...(current ? [['place', say('with a place again')]] : [])].map(([name, label]) => html`
        <button type="button" key=${name} aria-pressed=${status === name ? 'true' : 'false'} onClick=${() => setStatus(name)}>${label}</button>`)}</fieldset>
  <//>`
}

/** Standings made public. */
export function PostingForm({ standing, undecided, onPublish, onClose }) {
  const isOfficial = standing === 'official'
  return html`<${Decision} title=${isOfficial ? say('Post official standings?') : say('Post provisional standings?')}
      verb=${isOfficial ? say('Post as official') : say('Post as provisional')} needsReason=${isOfficial && undecided > 0} onClose=${onClose} onDecide=${onPublish}>
    <p>${undecided > 0
      ? say('{n} things still wait for a decision or an answer.', { n: undecided })
      : say('Nothing waits for a decision.')}</p>
    <p>${say('Everyone sees what you post: the board, and each crew its own sheet.')}</p>
  <//>`
}
