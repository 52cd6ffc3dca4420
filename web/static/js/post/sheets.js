import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { ofDay, time } from '../lib/format.js'
import { Icon } from '../lib/icons.js'
import { into } from '../lib/record.js'
import { ClockError, Sheet } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { inWords } from './words.js'

/** Why a mark is taken back; the first is the usual one. */
const reasons = () => [say('touched by mistake'), say('seen wrongly'), say('meant for another team')]

/** Everything marked at this post in this run, newest first, to be withdrawn where it is one's own. */
export function Record({ state, derived, rules, onWithdraw, onClose, withSignals = false }) {
  const [asking, setAsking] = useState(null)
  const waiting = new Set(state.waiting.map(entry => entry.id))
  const shown = derived.live.filter(entry => entry.kind !== 'withdrawal' && (withSignals || entry.kind !== 'signal')).toReversed()
  return html`<${Sheet} wide title=${say('Marks of this run')} onClose=${onClose}>
    ${shown.length === 0 && html`<p>${say('Nothing is marked yet.')}</p>`}
    <ol class="record">${shown.map(entry => {
      const moment = into(derived.clock, entry.at)
      return html`<li key=${entry.id}>
        <span class="when">${moment === null ? ofDay(entry.at) : time(moment, 0)}</span>
        <span class="what">${inWords(entry, rules)}</span>
        <span class="kept"><${Icon} name=${waiting.has(entry.id) ? 'waiting' : 'saved'} />${waiting.has(entry.id) ? say('saved here') : say('on the record')}</span>
        ${entry.by === state.me.person && (asking === entry.id
          ? html`<div class="outcomes">${reasons().map(reason => html`<button type="button" key=${reason} class="outcome"
              onClick=${() => { setAsking(null); onWithdraw(entry, reason) }}>${reason}</button>`)}</div>`
          : html`<button type="button" class="plain" onClick=${() => setAsking(entry.id)}>${say('Withdraw')}</button>`)}
      </li>`
    })}</ol>
  <//>`
}

/** What this device is doing: its hand, its clock, what it could not send. */
export function Device({ session, derived, hand, setHand, awake, onClose }) {
  const { event, me } = session.state.value
  return html`<${Sheet} wide title=${say('This tablet')} onClose=${onClose}>
    <p>${say('{name}, {role}', { name: me.name, role: me.role })}</p>
    <fieldset class="choices"><legend>${say('I touch with my')}</legend>
      ${[['left', say('left hand')], ['right', say('right hand')]].map(([name, label]) => html`
        <button type="button" key=${name} aria-pressed=${hand === name ? 'true' : 'false'} onClick=${() => setHand(name)}>${label}</button>`)}
    </fieldset>
    <ul class="facts">
      <li><${ClockError} session=${session} /></li>
      <li>${awake ? say('The screen stays awake.') : say('The screen may go dark: set its time-out in the tablet’s own settings.')}</li>
      ${derived.foreign > 0 && html`<li>${sayMany('{n} mark of somebody else waits here; it is sent when that person signs in on this tablet.', '{n} marks of somebody else wait here; they are sent when that person signs in on this tablet.', derived.foreign)}</li>`}
    </ul>
    ${derived.refused.length > 0 && html`<section><h3>${say('Refused by the server')}</h3>
      <p>${say('These marks are kept here and do not count. Show them to the head judge.')}</p>
      <ol class="record">${derived.refused.map(({ entry, error }) => html`<li key=${entry.id}>
        <span class="when">${ofDay(entry.at)}</span>
        <span class="what">${inWords(entry, {})}</span><span>${error.says}</span></li>`)}</ol></section>`}
    <section lang=${event.language}><h3>${event.title}</h3>
      <ul class="facts">${event.cautions.map(text => html`<li key=${text}>${text}</li>`)}</ul></section>
    <p><a href="/out">${say('Sign out')}</a></p>
  <//>`
}
