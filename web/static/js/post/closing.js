import { html } from '../../vendor/htm-preact.js'
import { useState } from '../../vendor/preact-hooks.js'
import { Icon } from '../lib/icons.js'
import { Sheet } from '../lib/widgets.js'
import { say, sayMany } from '../lib/words.js'
import { RuleText } from './cards.js'

/** After the stop: what this post has not answered, in one list, then the close-out. */
export function Closing({ open, language, onAnswer, onCount, onAllDone, onCloseOut }) {
  const [asking, setAsking] = useState(null)
  const questions = open.reduce((sum, card) => sum + card.left.length, 0)
  const marks = open.filter(card => card.rule.control !== 'count')
  const marksLeft = marks.reduce((sum, card) => sum + card.left.length, 0)
  return html`<section class="closing" aria-label=${say('Close-out')}>
    <header>
      <h2>${questions ? sayMany('{n} answer is open', '{n} answers are open', questions) : say('Everything is answered')}</h2>
      <div class="closing-acts">
        ${marksLeft > 0 && html`<button type="button" class="big" onClick=${() => setAsking('done')}>
          <${Icon} name="good" />${say('All the rest were done')}</button>`}
        <button type="button" class="big is-main" onClick=${() => (questions ? setAsking('close') : onCloseOut())}>
          <${Icon} name="post" />${say('Close out')}</button>
      </div>
    </header>
    <ul class="rows">${open.map(card => html`<li key=${card.rule.id} class="row question" data-rule=${card.rule.id}>
      <div class="row-line"><div class="row-text"><span class="kicker"><b>${card.rule.id}</b></span>
        <${RuleText} rule=${card.rule} language=${language} /></div>
        ${card.left.length > 1 && html`<button type="button" class="outcome is-good of-all" onClick=${event => onAllDone([card], event)}>
          <${Icon} name="good" />${say('all {n}: {answer}', { n: card.left.length, answer: card.rule.answers.good })}</button>`}</div>
      ${card.rule.control === 'count'
        ? html`<div class="outcomes"><button type="button" class="outcome" onClick=${() => onCount(card)}>
            <${Icon} name="count" />${say('Count')}</button></div>`
        : card.left.map(item => html`<div key=${item} class="outcomes" role="group" aria-label=${item || card.rule.text}>
            ${item && html`<b class="of-item">${item}</b>`}
            ${Object.entries(card.rule.answers).map(([outcome, label]) => html`
              <button type="button" key=${outcome} class="outcome is-${outcome}"
                onClick=${event => onAnswer(card, item, outcome, event)}><${Icon} name=${outcome} />${label}</button>`)}
          </div>`)}
    </li>`)}</ul>
    ${asking === 'done' && html`<${Sheet} title=${say('Were all the rest done?')} onClose=${() => setAsking(null)}>
      <p>${sayMany('{n} answer becomes good, in your name.', '{n} answers become good, in your name.', marksLeft)}</p>
      <button type="button" class="big is-main" onClick=${event => { setAsking(null); onAllDone(marks, event) }}>
        <${Icon} name="good" />${say('Yes, I saw them done')}</button>
    <//>`}
    ${asking === 'close' && html`<${Sheet} title=${say('Close out with open answers?')} onClose=${() => setAsking(null)}>
      <p>${sayMany('{n} answer stays open. It counts as not seen, and the head judge decides.', '{n} answers stay open. They count as not seen, and the head judge decides.', questions)}</p>
      <button type="button" class="big is-main" onClick=${event => { setAsking(null); onCloseOut(event) }}>
        <${Icon} name="post" />${say('Close out all the same')}</button>
    <//>`}
  </section>`
}
