import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { Icon } from '../lib/icons.js'
import { Sheet } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { controlOf } from './controls/index.js'
import { Kicker, RuleText } from './controls/parts.js'

/** After the stop: what this post has not answered, in one list, then the close-out. */
export function Closing({ open, language, acts }) {
  const [asking, setAsking] = useState(null)
  const questions = open.reduce((sum, card) => sum + card.left.length, 0)
  const plain = open.filter(card => card.isPlain)
  const plainLeft = plain.reduce((sum, card) => sum + card.left.length, 0)
  return html`<section class="closing" aria-label=${say('Close-out')}>
    <header>
      <h2>${questions ? sayMany('{n} answer is open', '{n} answers are open', questions) : say('Everything is answered')}</h2>
      <div class="closing-acts">
        ${plainLeft > 0 && html`<button type="button" class="big" onClick=${() => setAsking('done')}>
          <${Icon} name="good" />${say('All the rest were done')}</button>`}
        <button type="button" class="big is-main" onClick=${() => (questions ? setAsking('close') : acts.closeOut())}>
          <${Icon} name="post" />${say('Close out')}</button>
      </div>
    </header>
    <ul class="rows">${open.map(card => html`<${Asked} key=${card.rule.id} card=${card} language=${language} acts=${acts} />`)}</ul>
    ${asking === 'done' && html`<${Sheet} title=${say('Were all the rest done?')} onClose=${() => setAsking(null)}>
      <p>${sayMany('{n} answer becomes good, in your name.', '{n} answers become good, in your name.', plainLeft)}
        ${plainLeft < questions && ` ${say('What is keyed, counted or given stays open.')}`}</p>
      <button type="button" class="big is-main" onClick=${event => { setAsking(null); acts.allDone(plain, event) }}>
        <${Icon} name="good" />${say('Yes, I saw them done')}</button>
    <//>`}
    ${asking === 'close' && html`<${Sheet} title=${say('Close out with open answers?')} onClose=${() => setAsking(null)}>
      <p>${sayMany('{n} answer stays open. It counts as not seen, and the head judge decides.', '{n} answers stay open. They count as not seen, and the head judge decides.', questions)}</p>
      <button type="button" class="big is-main" onClick=${event => { setAsking(null); acts.closeOut(event) }}>
        <${Icon} name="post" />${say('Close out all the same')}</button>
    <//>`}
  </section>`
}

/** One rule with what is open of it. */
export function Asked({ card, language, acts }) {
  const { rule, left } = card
  const control = controlOf(rule)
  return html`<li class="row question" data-rule=${rule.id}>
    <div class="row-line"><div class="row-text"><${Kicker} card=${card} /><${RuleText} rule=${rule} language=${language} /></div>
      ${(card.isPlain || rule.control === 'checklist') && left.length > 1 && html`<button type="button" class="outcome is-good of-all" onClick=${event => acts.allDone([card], event)}>
        <${Icon} name="good" />${say('all {n}: {answer}', { n: left.length, answer: rule.answers.good })}</button>`}</div>
    <${control.Asked} card=${card} acts=${acts} />
  </li>`
}
