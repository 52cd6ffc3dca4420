import { html } from '../../../vendor/htm-preact.js'
import { Icon } from '../../lib/icons.js'
import { say } from '../../lib/words.js'
import { Answers, AskedItems, itemName, SaidOutcomes } from './parts.js'

/** Done or not, item by item or a list as a whole: the good answer is one touch. */
export const mark = {
  main(card) {
    const label = card.rule.answers.good
    if (card.items.length === 1) return { icon: 'good', label }
    const item = card.next === '' ? say('all {n}', { n: card.items.length }) : itemName(card, card.next)
    return { icon: 'good', label: say('{answer}: {item}', { answer: label, item }) }
  },
  tap: (card, event, acts) => acts.answer(card, card.next, 'good', event),
  Below: Items,
  More: Answers,
  Asked: AskedItems,
  Said: ({ card }) => html`<${SaidOutcomes} card=${card} said=${card.items.filter(item => card.words[item])} />`,
}

/** The items of a rule, each one touch; numbers alone where they have no names. */
function Items({ card, acts }) {
  if (card.items.length === 1) return null
  return html`<div class="items" role="group" aria-label=${say('Items of {rule}', { rule: card.rule.id })}>
    ${card.items.map(item => {
      const word = card.words[item]?.what.outcome
      return html`<button type="button" key=${item} class="item is-${word ?? (item === card.left[0] ? 'next' : 'open')}"
          onClick=${event => acts.answer(card, item, 'good', event)}>
        ${word ? html`<${Icon} name=${word} />` : item === card.left[0] && html`<${Icon} name="next" />`}
        <span>${item}</span>
        <span class="unseen-words">${word ? card.rule.answers[word] : ''}</span></button>`
    })}</div>`
}
