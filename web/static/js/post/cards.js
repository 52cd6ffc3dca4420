import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { Icon } from '../lib/icons.js'
import { say } from '../lib/words.js'
import { isNumbered, itemName } from './words.js'

/** A text of more characters than this is set smaller, so that three cards fit. */
const LONG = 120

/** The rule's own text: callouts as spoken words, in the event's language. */
export function RuleText({ rule, language }) {
  const look = rule.text.length > LONG ? 'text is-long' : 'text'
  return rule.kind === 'callout'
    ? html`<q class=${look} lang=${language}>${rule.text}</q>`
    : html`<span class=${look} lang=${language}>${rule.text}</span>`
}

function Kicker({ card }) {
  const { rule } = card
  const who = rule.by.map(title => title.split(',')[0]).join(', ')
  const isSpoken = rule.kind === 'callout'
  return html`<span class="kicker"><${Icon} name=${isSpoken ? 'words' : 'deed'} />
    <b>${rule.id}</b>${who && html`<span>${isSpoken ? say('said by {who}', { who }) : who}</span>`}</span>`
}

/** What the large target says: the good answer, for the item that is next. */
function Yes({ card }) {
  const label = card.rule.answers.good
  const item = card.next === '' ? say('all {n}', { n: card.items.length }) : itemName(card, card.next)
  return html`<span class="yes-label"><${Icon} name="good" />
    ${card.items.length === 1 ? label : html`<span>${say('{answer}: {item}', { answer: label, item })}</span>`}</span>`
}

/** The items of a rule, each one touch; numbers alone where they have no names. */
function Items({ card, onItem }) {
  if (card.items.length === 1) return null
  return html`<div class="items" role="group" aria-label=${say('Items of {rule}', { rule: card.rule.id })}>
    ${card.items.map(item => {
      const word = card.words[item]?.what.outcome
      return html`<button type="button" key=${item} class="item is-${word ?? (item === card.left[0] ? 'next' : 'open')}"
          onClick=${event => onItem(item, event)}>
        ${word ? html`<${Icon} name=${word} />` : item === card.left[0] && html`<${Icon} name="next" />`}
        <span>${item}</span>
        <span class="unseen-words">${word ? card.rule.answers[word] : ''}</span></button>`
    })}</div>`
}

/** All answers on one rule, for one of its items. */
export function Answers({ card, onAnswer, onClose, withGood = true }) {
  const [item, setItem] = useState(card.left[0] ?? card.items[0])
  const outcomes = Object.entries(card.rule.answers).filter(([outcome]) => withGood || outcome !== 'good')
  return html`<div class="answers">
    ${card.items.length > 1 && html`<div class="items" role="group" aria-label=${say('Which one')}>
      ${card.items.map(each => html`<button type="button" key=${each} class="item" aria-pressed=${each === item ? 'true' : 'false'}
        onClick=${() => setItem(each)}>${card.words[each] && html`<${Icon} name=${card.words[each].what.outcome} />`}<span>${each}</span></button>`)}
    </div>`}
    <div class="outcomes">
      ${outcomes.map(([outcome, label]) => html`<button type="button" key=${outcome} class="outcome is-${outcome}"
        onClick=${event => onAnswer(card, item, outcome, event)}><${Icon} name=${outcome} />${label}</button>`)}
      ${onClose && html`<button type="button" class="outcome plain" onClick=${onClose}>${say('Back')}</button>`}
    </div>
  </div>`
}

/** A rule that is expected next: one large target, the other answers behind one touch. */
export function Card({ card, language, isOpen, onOpen, onAnswer }) {
  const { rule } = card
  const more = html`<button type="button" class="more" aria-expanded=${isOpen ? 'true' : 'false'}
    aria-label=${say('Other answers for {rule}', { rule: rule.id })} onClick=${() => onOpen(isOpen ? null : rule.id)}>
    <${Icon} name="more" /><small>${say('other')}</small></button>`
  return html`<article class="card is-${rule.kind}" data-rule=${rule.id}>
    <div class="card-row">
      <button type="button" class="yes" onClick=${event => onAnswer(card, card.next, 'good', event)}>
        <${Kicker} card=${card} /><${RuleText} rule=${rule} language=${language} /><${Yes} card=${card} />
      </button>${more}
    </div>
    ${isOpen
      ? html`<${Answers} card=${card} withGood=${false} onAnswer=${onAnswer} onClose=${() => onOpen(null)} />`
      : html`<${Items} card=${card} onItem=${(item, event) => onAnswer(card, item, 'good', event)} />`}
    ${rule.note && isOpen && html`<p class="note">${rule.note}</p>`}
  </article>`
}

/** Any rule of the post in one line: still one touch, in whatever order things are done. */
export function Row({ card, language, isOpen, onOpen, onAnswer, onCount, isPassed = false }) {
  const { rule, left, items, words } = card
  const isDone = left.length === 0
  return html`<li class="row ${isDone ? 'is-done' : ''} ${isPassed ? 'is-passed' : ''}" data-rule=${rule.id}>
    <div class="row-line">
      <div class="row-text"><${Kicker} card=${card} /><${RuleText} rule=${rule} language=${language} />
        <${Said} card=${card} /></div>
      ${rule.control === 'count'
        ? html`<button type="button" class="row-yes" onClick=${() => onCount(card)}><${Icon} name="count" /><span>${say('Count')}</span></button>`
        : !isDone && html`<button type="button" class="row-yes"
            onClick=${event => onAnswer(card, card.next, 'good', event)}>
            <${Icon} name="good" /><span>${rule.answers.good}${items.length > 1 && html`<br />${card.next === '' ? say('all {n}', { n: items.length }) : itemName(card, card.next)}`}</span></button>`}
      ${rule.control !== 'count' && html`<button type="button" class="more" aria-expanded=${isOpen ? 'true' : 'false'}
        aria-label=${isDone ? say('Change the answer for {rule}', { rule: rule.id }) : say('Other answers for {rule}', { rule: rule.id })}
        onClick=${() => onOpen(isOpen ? null : rule.id)}><${Icon} name=${isDone ? 'change' : 'more'} /><small>${isDone ? say('change') : say('other')}</small></button>`}
    </div>
    ${isOpen && html`<${Answers} card=${card} onAnswer=${onAnswer} />`}
    ${isOpen && rule.note && html`<p class="note">${rule.note}</p>`}
  </li>`
}

/** What has been said of a rule so far. */
function Said({ card }) {
  const { rule, items, words } = card
  const said = items.filter(item => words[item])
  if (!said.length) return null
  if (rule.control === 'count') {
    return html`<span class="said"><${Icon} name="count" />${say('{count} counted', { count: words['']?.what.count })}</span>`
  }
  const outcomes = [...new Set(said.map(item => words[item].what.outcome))]
  return html`<span class="said">${outcomes.map(outcome => {
    const those = said.filter(item => words[item].what.outcome === outcome)
    const which = items.length === 1 ? ''
      : isNumbered(card) ? ` ${say('{n} of {all}', { n: those.length, all: items.length })}`
        : those.length === items.length ? ` ${say('all {n}', { n: items.length })}` : ` ${those.join(', ')}`
    return html`<span key=${outcome} class="is-${outcome}"><${Icon} name=${outcome} />${rule.answers[outcome]}${which}</span>`
  })}</span>`
}
