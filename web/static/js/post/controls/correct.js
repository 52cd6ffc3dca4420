import { html } from '../../../vendor/htm-preact.js'
import { Icon } from '../../lib/icons.js'
import { say, sayMany } from '../../lib/words.js'

/** A fault that the crew may put right: tell them, then say what it came to. */
export const correct = {
  main: card => (card.told.length
    ? { icon: 'good', label: say('Corrected'), extra: html`<${Told} card=${card} />` }
    : { icon: 'words', label: say('Tell the crew') }),
  tap: (card, event, acts) => (card.told.length
    ? acts.moved(card, 'corrected', '', event) : acts.moved(card, 'told', '', event)),
  keepsMain: true,
  Below: ({ card, acts }) => card.told.length > 0 && html`<div class="outcomes in-card"><${Others} card=${card} acts=${acts} />
    <button type="button" class="outcome" onClick=${event => acts.moved(card, 'told', '', event)}><${Icon} name="words" />${say('Told again')}</button></div>`,
  Asked: ({ card, acts }) => html`<p class="said"><${Told} card=${card} /></p><div class="outcomes">
    <button type="button" class="outcome is-good" onClick=${event => acts.moved(card, 'corrected', '', event)}><${Icon} name="good" />${say('Corrected')}</button>
    <${Others} card=${card} acts=${acts} /></div>`,
  Said: ({ card }) => card.outcomes.map(entry => html`<span key=${entry.id}><${Icon} name=${entry.what.moment === 'corrected' ? 'good' : 'missing'} />${outcomeName(entry)}</span>`),
}

/** What a fault came to. */
function outcomeName({ what }) {
  if (what.moment === 'corrected') return say('corrected')
  return what.moment === 'judge did it' ? say('put right by the judge') : say('not corrected')
}

function Told({ card }) {
  const { tries } = card.rule.more
  return html`<span class="limits">${sayMany('told once', 'told {n} times', card.told.length)}${tries > 1 || card.told.length > 1 ? `, ${sayMany('{n} time is allowed', '{n} times are allowed', tries)}` : ''}</span>`
}

function Others({ card, acts }) {
  return html`<button type="button" class="outcome is-missing" onClick=${event => acts.answer(card, '', 'missing', event)}><${Icon} name="missing" />${say('Not corrected')}</button>
    <button type="button" class="outcome is-wrong" onClick=${event => acts.moved(card, 'judge did it', '', event)}><${Icon} name="wrong" />${say('I put it right')}</button>`
}
