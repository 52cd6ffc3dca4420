import { html } from '../../vendor/htm-preact.js'

/** Shapes of our own on a 24 × 24 grid. Each meaning has a shape, so that colour alone says nothing. */
const SHAPES = {
  good: html`<path d="M3 13.5 9.5 20 21 5" />`,
  wrong: html`<path d="M12 2.5 21.5 12 12 21.5 2.5 12Z" /><path d="M12 2.5v19" /><path d="M12 2.5 21.5 12 12 21.5Z" class="filled" />`,
  missing: html`<circle cx="12" cy="12" r="9" /><path d="M7 12h10" />`,
  unseen: html`<path d="M2.5 8c5 6 14 6 19 0" /><path d="M12 12.6V17M5.5 11 3.6 15M18.5 11l1.9 4" />`,
  breach: html`<path d="M3 4h18v10l-9 7-9-7Z" /><path d="m12 4-2.5 5 4 2.5-3 5" />`,
  danger: html`<path d="M8 2.5h8L21.5 8v8L16 21.5H8L2.5 16V8Z" /><path d="M7.5 12h9" />`,
  undo: html`<path d="M8.5 4 4 8.5 8.5 13" /><path d="M4 8.5h10a6 6 0 0 1 0 12H9" />`,
  more: html`<path d="M4 7h16M4 12h16M4 17h10" />`,
  saved: html`<path d="M4 4h16v16H4Z" /><path d="m8 12 3 3 5.5-6.5" />`,
  waiting: html`<path d="M4 11v9h16v-9" /><path d="M12 15V3M8 7l4-4 4 4" />`,
  refused: html`<path d="M4 4h16v16H4Z" /><path d="m8.5 8.5 7 7M15.5 8.5l-7 7" />`,
  lost: html`<path d="M3 9a13 13 0 0 1 18 0M7 13.5a7 7 0 0 1 10 0M12 18.5v.5" /><path d="m4 20 16-16" />`,
  open: html`<path d="M3 9a13 13 0 0 1 18 0M7 13.5a7 7 0 0 1 10 0M12 18.5v.5" />`,
  words: html`<path d="M3 4h18v12h-9l-5 4.5V16H3Z" />`,
  deed: html`<path d="M7.5 4h9l4.5 8-4.5 8h-9L3 12Z" /><circle cx="12" cy="12" r="3.4" />`,
  count: html`<path d="M5 5v14M10 5v14M15 5v14M2 17 18 7" />`,
  measure: html`<path d="M2.5 8.5h19v7h-19Z" /><path d="M7 8.5v3M12 8.5v4M17 8.5v3" />`,
  ends: html`<path d="M2.5 6.5h19v6h-19Z" /><path d="M6 12.5V21M18 12.5V21M9.5 6.5l-3 6M15.5 6.5l-3 6" />`,
  gift: html`<path d="M12 3v18M3 12h18" />`,
  walk: html`<circle cx="12" cy="12" r="9" /><path d="m9 15 1.8-4.2L15 9l-1.8 4.2Z" />`,
  start: html`<path d="M6 3.5 20 12 6 20.5Z" class="filled" />`,
  hold: html`<path d="M8 4v16M16 4v16" />`,
  stop: html`<path d="M5 5h14v14H5Z" class="filled" />`,
  tablet: html`<path d="M5 2.5h14v19H5Z" /><path d="M10 18.5h4" />`,
  list: html`<path d="M9 6h12M9 12h12M9 18h12M4 6h.5M4 12h.5M4 18h.5" />`,
  change: html`<path d="M4 20h4L20 8l-4-4L4 16Z" />`,
  post: html`<path d="M5 21V3h14l-4 5 4 5H5" />`,
  next: html`<path d="m9 4 8 8-8 8" />`,
}

/** A shape beside words; it says nothing that the words do not. */
export function Icon({ name }) {
  return html`<svg class="icon" viewBox="0 0 24 24" aria-hidden="true" focusable="false">${SHAPES[name]}</svg>`
}
