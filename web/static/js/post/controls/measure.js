import { html } from '../../../vendor/htm-preact.js'
import { useState } from '../../../vendor/preact-hooks.js'
import { points, thousandths } from '../../lib/format.js'
import { Icon } from '../../lib/icons.js'
import { KeyPad, Sheet } from '../../lib/widgets.js'
import { say } from '../../lib/words.js'
import { Answers, AskedItems, itemName, Own, RuleText, SaidOutcomes } from './parts.js'

const measureIt = (card, acts) => item => html`<${Own} icon="measure" label=${say('Measure')} onTap=${() => acts.open(card, item)} />`

/** Where a thing stands, by how far it is out; or only that it is in its place. */
export const measure = {
  main(card) {
    return {
      icon: 'measure',
      label: card.items.length > 1 ? say('{answer}: {item}', { answer: say('Measure'), item: itemName(card, card.next) }) : say('Measure'),
    }
  },
  tap: (card, event, acts) => acts.open(card, card.next),
  Below: ({ card, acts }) => html`<div class="outcomes in-card"><button type="button" class="outcome is-good"
    onClick=${event => acts.answer(card, card.next, 'good', event)}><${Icon} name="good" />${card.rule.answers.good}${card.items.length > 1 ? `: ${itemName(card, card.next)}` : ''}</button></div>`,
  More: ({ card, acts, withGood, onDone }) => html`<${Answers} card=${card} acts=${acts} withGood=${withGood} onDone=${onDone} more=${measureIt(card, acts)} />`,
  Asked: ({ card, acts }) => html`<${AskedItems} card=${card} acts=${acts} more=${measureIt(card, acts)} />`,
  Said({ card }) {
    const answered = card.items.filter(item => card.words[item]?.kind === 'mark')
    const out = card.items.filter(item => card.words[item]?.kind === 'measured')
    return html`<${SaidOutcomes} card=${card} said=${answered} />
      ${out.map(item => html`<span key=${item}><${Icon} name="measure" />${item && `${itemName(card, item)}: `}${centimetres(card.words[item].what.amount)}</span>`)}`
  },
  Pad: Distance,
}

/** A distance from thousandths of a centimetre. */
export function centimetres(amount) {
  return say('{n} cm', { n: points(amount) })
}

function Distance({ card, item, language, acts, onClose }) {
  const [text, setText] = useState('')
  const amount = thousandths(text)
  return html`<${Sheet} title=${say('How far is it out?')} onClose=${onClose}>
    <p class="asked">${item && html`<b>${itemName(card, item)}</b> `}<${RuleText} rule=${card.rule} language=${language} /></p>
    <ul class="facts">${card.rule.says.map(sentence => html`<li key=${sentence}>${sentence}</li>`)}</ul>
    <${KeyPad} label=${say('Centimetres')} text=${text} onText=${setText} keys=${['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'delete']}
      longest=${7} shows=${each => `${each || '–'} cm`} />
    <button type="button" class="big is-main" disabled=${amount === null} onClick=${event => { onClose(); acts.measured(card, amount, item, event) }}>
      ${amount === null ? say('Key a number') : say('Out by {distance}', { distance: centimetres(amount) })}</button>
  <//>`
}
