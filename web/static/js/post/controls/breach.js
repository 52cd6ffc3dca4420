import { html } from '../../../vendor/htm-preact.js'
import { Icon } from '../../lib/icons.js'
import { momentOf } from '../../lib/touch.js'
import { Sheet } from '../../lib/widgets.js'
import { say } from '../../lib/words.js'

/** Breaches: every rule of conduct this post watches, the likely ones first; one touch records. */
export function Breaches({ breaches, language, onBreach, onClose }) {
  const enders = breaches.filter(({ rule }) => rule.kind === 'ender')
  return html`<${Sheet} wide title=${say('Which rule was broken?')} onClose=${onClose}>
    ${breaches.length === 0 && html`<p>${say('This post watches no rules of conduct.')}</p>`}
    <div class="breach-grid">${breaches.filter(({ rule }) => rule.kind !== 'ender').map(({ rule, likely, latched }) => html`
      <button type="button" key=${rule.id} class="breach-choice ${likely ? 'is-likely' : ''}" data-rule=${rule.id}
          onClick=${event => onBreach(rule, momentOf(event))}>
        <${Icon} name="breach" /><span class="breach-text"><span class="text" lang=${language}>${rule.text}</span>
        ${rule.holds && html`<small>${rule.holds}</small>`}
        ${latched && html`<small><b>${say('Costs nothing until: {latch}', { latch: rule.more.latch })}</b></small>`}</span></button>`)}</div>
    ${enders.length > 0 && html`<section class="enders"><h3>${say('Ends the run, if the head judge agrees')}</h3>
      <div class="breach-grid">${enders.map(({ rule }) => html`
        <button type="button" key=${rule.id} class="breach-choice is-ender" data-rule=${rule.id} onClick=${event => onBreach(rule, momentOf(event))}>
          <${Icon} name="ends" /><span class="breach-text"><span class="text" lang=${language}>${rule.text}</span>
          <small>${say('proposes: {ends}', { ends: rule.more.ends })}</small></span></button>`)}</div></section>`}
  <//>`
}

/** Rules that cost nothing more until something has happened, each with the touch that says so. */
export function Latches({ latches, acts }) {
  if (!latches.length) return null
  return html`<section class="latches" aria-label=${say('Breaches that go on')}>
    ${latches.map(card => html`<div key=${card.rule.id} class="latch" data-rule=${card.rule.id}>
      <p><${Icon} name="breach" /><span><b>${card.rule.id}</b> ${say('is broken. Further breaches cost nothing for now.')}
        ${card.inside > 0 && ` ${say('{n} so far.', { n: card.inside })}`}</span></p>
      <button type="button" class="release" onClick=${event => acts.moved(card, 'released', '', event)}>
        <${Icon} name="good" /><span>${card.rule.more.latch}<small>${say('again from now on')}</small></span></button></div>`)}
  </section>`
}
