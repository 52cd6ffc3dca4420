import { html } from '../../../vendor/htm-preact.js'
import { useState } from '../../../vendor/preact-hooks.js'
import { Icon } from '../../lib/icons.js'
import { say } from '../../lib/words.js'

/** A text of more characters than this is set smaller, so that three cards fit. */
const LONG = 120

/** The rule's own text: callouts as spoken words, in the event's language. */
export function RuleText({ rule, language }) {
  const look = rule.text.length > LONG ? 'text is-long' : 'text'
  return rule.kind === 'callout'
    ? html`<q class=${look} lang=${language}>${rule.text}</q>`
    : html`<span class=${look} lang=${language}>${rule.text}</span>`
}

/** The rule's id, who does it, and what must have been drawn for it to apply. */
export function Kicker({ card }) {
  const { rule, unsure } = card
  const who = rule.by.map(title => title.split(',')[0]).join(', ')
  const isSpoken = rule.kind === 'callout'
  return html`<span class="kicker"><${Icon} name=${isSpoken ? 'words' : 'deed'} />
    <b>${rule.id}</b>${who && html`<span>${isSpoken ? say('said by {who}', { who }) : who}</span>`}
    ${unsure.map(([name, value]) => html`<span key=${name} class="unsure">${say('only if {name} is {value}', { name, value })}</span>`)}</span>`
}

/** Buttons to choose an item by; what has been answered shows its shape. */
export function ItemChoice({ card, item, onItem }) {
  if (card.items.length === 1) return null
  return html`<div class="items" role="group" aria-label=${say('Which one')}>
    ${card.items.map(each => html`<button type="button" key=${each} class="item" aria-pressed=${each === item ? 'true' : 'false'}
      onClick=${() => onItem(each)}>${card.words[each] && html`<${Icon} name=${card.words[each].what.outcome ?? 'saved'} />`}<span>${each}</span></button>`)}
  </div>`
}

/** All answers on one rule, for one of its items; `more` are the control's own, below. */
export function Answers({ card, acts, withGood, onDone, more = null }) {
  const [picked, setPicked] = useState(null)
  const item = picked ?? card.left[0] ?? card.items[0]
  const outcomes = Object.entries(card.rule.answers).filter(([outcome]) => withGood || outcome !== 'good')
  return html`<div class="answers">
    <${ItemChoice} card=${card} item=${item} onItem=${setPicked} />
    <div class="outcomes">
      ${outcomes.map(([outcome, label]) => html`<button type="button" key=${outcome} class="outcome is-${outcome}"
        onClick=${event => { onDone(); acts.answer(card, item, outcome, event) }}><${Icon} name=${outcome} />${label}</button>`)}
      ${more?.(item)}
      ${!withGood && html`<button type="button" class="outcome plain" onClick=${onDone}>${say('Back')}</button>`}
    </div>
  </div>`
}

/** What is asked of each item left, in one row each; `more` are the control's own buttons. */
export function AskedItems({ card, acts, more = () => null }) {
  return card.left.map(item => html`<div key=${item} class="outcomes" role="group" aria-label=${item || card.rule.text}>
    ${item && html`<b class="of-item">${item}</b>`}
    ${more(item)}
    ${Object.entries(card.rule.answers).filter(([outcome]) => !acts.isHead || outcome !== 'unseen').map(([outcome, label]) => html`
      <button type="button" key=${outcome} class="outcome is-${outcome}"
        onClick=${event => acts.answer(card, item, outcome, event)}><${Icon} name=${outcome} />${label}</button>`)}
  </div>`)
}

/** A button of a control's own among the answers. */
export function Own({ icon, label, onTap, look = '' }) {
  return html`<button type="button" class="outcome ${look}" onClick=${onTap}><${Icon} name=${icon} />${label}</button>`
}

/** Which outcome was said of which items. */
export function SaidOutcomes({ card, said }) {
  const { rule, items, words } = card
  const outcomes = [...new Set(said.map(item => words[item].what.outcome))]
  return outcomes.map(outcome => {
    const those = said.filter(item => words[item].what.outcome === outcome)
    const which = items.length === 1 ? ''
      : isNumbered(card) ? ` ${say('{n} of {all}', { n: those.length, all: items.length })}`
        : those.length === items.length ? ` ${say('all {n}', { n: items.length })}` : ` ${those.join(', ')}`
    return html`<span key=${outcome} class="is-${outcome}"><${Icon} name=${outcome} />${rule.answers[outcome]}${which}</span>`
  })
}

/** What to call an item: its name, or its number among so many. */
export function itemName(card, item) {
  return isNumbered(card) ? say('{n} of {all}', { n: item, all: card.items.length }) : item
}

/** Whether the items have no names but numbers. */
function isNumbered(card) {
  return card.items.every((item, n) => item === String(n + 1))
}
