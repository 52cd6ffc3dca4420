import { html } from '../../vendor/htm-preact.js'
import { Icon } from '../lib/icons.js'
import { say } from '../lib/words.js'
import { controlOf } from './controls/index.js'
import { Kicker, RuleText } from './controls/parts.js'

function MoreButton({ card, isDone, isOpen, onOpen }) {
  const { rule } = card
  return html`<button type="button" class="more" aria-expanded=${isOpen ? 'true' : 'false'}
    aria-label=${isDone ? say('Change the answer for {rule}', { rule: rule.id }) : say('Other answers for {rule}', { rule: rule.id })}
    onClick=${() => onOpen(isOpen ? null : rule.id)}><${Icon} name=${isDone ? 'change' : 'more'} /><small>${isDone ? say('change') : say('other')}</small></button>`
}

/** A rule that is expected next: one large target, the other answers behind one touch. */
export function Card({ card, language, acts, isOpen, onOpen }) {
  const { rule } = card
  const control = controlOf(rule)
  const { icon, label, extra } = control.main(card, acts)
  const { Below, More } = control
  return html`<article class="card is-${rule.kind} ${card.isGoing ? 'is-going' : ''}" data-rule=${rule.id}>
    <div class="card-row">
      <button type="button" class="yes" onClick=${event => control.tap(card, event, acts)}>
        <${Kicker} card=${card} /><span class="yes-text"><${RuleText} rule=${rule} language=${language} />${extra}</span>
        <span class="yes-label"><${Icon} name=${icon} /><span>${label}</span></span>
      </button>${More && html`<${MoreButton} card=${card} isOpen=${isOpen} onOpen=${onOpen} />`}
    </div>
    ${isOpen && More
      ? html`<${More} card=${card} acts=${acts} withGood=${false} onDone=${() => onOpen(null)} />`
      : Below && html`<${Below} card=${card} acts=${acts} />`}
    ${rule.note && isOpen && html`<p class="note">${rule.note}</p>`}
  </article>`
}

/** Any rule of the post in one line: still one touch, in whatever order things are done. */
export function Row({ card, language, acts, isOpen, onOpen, isPassed = false }) {
  const { rule, left } = card
  const control = controlOf(rule)
  const isDone = left.length === 0
  const isIdle = control.hasNone?.(card) ?? (isDone && !control.keepsMain)
  const { icon, label } = isIdle ? {} : control.main(card, acts)
  const { More, Said } = control
  return html`<li class="row ${isDone ? 'is-done' : ''} ${isPassed ? 'is-passed' : ''}" data-rule=${rule.id}>
    <div class="row-line">
      <div class="row-text"><${Kicker} card=${card} /><${RuleText} rule=${rule} language=${language} />
        ${hasWords(card) && html`<span class="said"><${Said} card=${card} /></span>`}</div>
      ${!isIdle && html`<button type="button" class="row-yes" onClick=${event => control.tap(card, event, acts)}>
        <${Icon} name=${icon} /><span>${label}</span></button>`}
      ${More && html`<${MoreButton} card=${card} isDone=${isDone} isOpen=${isOpen} onOpen=${onOpen} />`}
    </div>
    ${isOpen && More && html`<${More} card=${card} acts=${acts} withGood onDone=${() => onOpen(null)} />`}
    ${isOpen && rule.note && html`<p class="note">${rule.note}</p>`}
  </li>`
}

function hasWords({ rule, words }) {
  return Object.keys(words).length > 0 || rule.says.length > 0 && ['clock', 'computed'].includes(rule.control)
}
