import { html } from '../../../vendor/htm-preact.js'
import { controlOf } from './index.js'

/** The window to key what a control needs, where one is open. */
export function Pad({ sheet, cards, language, acts, onClose }) {
  const card = sheet?.pad && cards.find(each => each.rule.id === sheet.pad)
  if (!card) return null
  const control = controlOf(card.rule)
  return html`<${control.Pad} card=${card} item=${sheet.item} language=${language} acts=${acts} onClose=${onClose} />`
}
