import { html } from '../../../vendor/htm-preact.js'
import { Icon } from '../../lib/icons.js'
import { say } from '../../lib/words.js'

/** What the clock watches or the engine computes: nothing to touch, but for a task that is cut off. */
export const info = {
  main: () => ({ icon: 'stop', label: say('Task stopped') }),
  tap: (card, event, acts) => acts.moved(card, 'end', '', event),
  hasNone: card => !card.rule.more.cut || Boolean(card.words['']),
  Said: ({ card }) => html`${card.words[''] && html`<span><${Icon} name="stop" />${say('task stopped')}</span>`}
    <span class="sentences">${card.rule.says.join(' ')}</span>`,
}
