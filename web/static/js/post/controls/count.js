import { html } from '../../../vendor/htm-preact.js'
import { useState } from '../../../vendor/preact-hooks.js'
import { Icon } from '../../lib/icons.js'
import { NumberPad, Sheet } from '../../lib/widgets.js'
import { say, sayMany } from '../../lib/words.js'
import { Own, RuleText } from './parts.js'

/** How many are missing, counted once at the end. */
export const count = {
  main: () => ({ icon: 'count', label: say('Count') }),
  tap: (card, event, acts) => acts.open(card),
  keepsMain: true,
  Asked: ({ card, acts }) => html`<div class="outcomes"><${Own} icon="count" label=${say('Count')} onTap=${() => acts.open(card)} /></div>`,
  Said: ({ card }) => html`<span><${Icon} name="count" />${say('{count} counted', { count: card.words[''].what.count })}</span>`,
  Pad: Counting,
}

function Counting({ card, language, acts, onClose }) {
  const [digits, setDigits] = useState('')
  const keep = (n, event) => { onClose(); acts.count(card, n, event) }
  return html`<${Sheet} title=${say('How many are missing?')} onClose=${onClose}>
    <p class="asked"><${RuleText} rule=${card.rule} language=${language} /></p>
    <button type="button" class="big" onClick=${event => keep(0, event)}><${Icon} name="good" />${say('None is missing')}</button>
    <${NumberPad} label=${say('Number missing')} digits=${digits} onDigits=${setDigits} longest=${3} shows=${each => each || '–'} />
    <button type="button" class="big is-main" disabled=${digits === ''} onClick=${event => keep(Number(digits), event)}>
      ${digits === '' ? say('Key a number') : sayMany('Record {n} missing', 'Record {n} missing', Number(digits))}</button>
  <//>`
}
