import { html } from '../../vendor/htm-preact.js'
import { Icon } from '../lib/icons.js'
import { say } from '../lib/words.js'

/** What an assessment has come to, criterion by criterion, and who has signed it. */
export function Signing({ assessed, onSign }) {
  const { outcome, criteria, again, signed, stale } = assessed
  const isMet = outcome === 'competent'
  return html`<section class="signing" aria-label=${say('Assessment')}>
    <p class="outcome-said ${isMet ? 'is-good' : 'is-missing'}"><${Icon} name=${isMet ? 'good' : 'missing'} />${isMet ? say('competent') : say('not yet')}</p>
    <ul class="facts">${criteria.map(({ name, met, rules }) => html`<li key=${name}><${Icon} name=${met ? 'good' : 'missing'} />
      <b>${name}</b> ${met ? say('met') : say('not met')}${!met && rules.length > 0 && `: ${rules.join(', ')}`}</li>`)}</ul>
    ${again.length > 0 && html`<p>${say('To be shown again: {rules}', { rules: again.join(', ') })}</p>`}
    ${stale.map(entry => html`<p key=${entry.id}><${Icon} name="wrong" />${say('{who} has signed another outcome: {says}.', { who: entry.by_name, says: entry.says })}</p>`)}
    ${signed.map(entry => html`<p key=${entry.id}><${Icon} name="saved" />${say('{who}: {says}.', { who: entry.by_name, says: entry.says })}</p>`)}
    ${onSign && html`<button type="button" class="big is-main" onClick=${() => onSign(outcome)}><${Icon} name="change" />
      ${isMet ? say('Sign: competent') : say('Sign: not yet')}</button>`}
  </section>`
}
