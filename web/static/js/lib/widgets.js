import { html } from '../../vendor/htm-preact.js'
import { useEffect, useLayoutEffect, useRef, useState } from '../../vendor/preact-hooks.js'
import { keyed, time } from './format.js'
import { Icon } from './icons.js'
import { shown } from './record.js'
import { buzz, choice, choose, momentOf } from './touch.js'
import { say, sayMany } from './words.js'

/** How long the danger stop is pressed, in milliseconds; the style sheet fills it as long. */
const PRESS = 1_000

/** The run clock, ten times a second. */
export function RunClock({ session, clock, decimals = 1 }) {
  const [, again] = useState(0)
  useEffect(() => {
    const timer = setInterval(() => again(n => n + 1), 100)
    return () => clearInterval(timer)
  }, [])
  return html`<span class="run-clock" role="timer" aria-label=${say('Run clock')}>
    ${time(shown(clock, session.clock.read().at), decimals)}</span>`
}

/** What a stage is called on the screen. */
export function stageName(stage) {
  return {
    waiting: say('not started'),
    walkthrough: say('walkthrough'),
    running: say('running'),
    held: say('clock held'),
    stopped: say('stopped'),
    'closing out': say('closing out'),
    'closed out': say('closed out'),
  }[stage]
}

/** The state of saving, in words and shape. */
export function Saving({ session, saved, waiting, foreign = 0, refused = [] }) {
  const link = session.link.state.value
  const icon = refused.length ? 'refused' : waiting ? 'waiting' : 'saved'
  return html`<p class="saving is-${icon}" role="status">
    <${Icon} name=${icon} />
    <span>
      ${say('{saved} saved here, {waiting} waiting to send', { saved, waiting })}
      ${foreign > 0 && html`, ${sayMany('{n} of somebody else', '{n} of somebody else', foreign)}`}
      ${refused.length > 0 && html`, <strong>${sayMany('{n} refused', '{n} refused', refused.length)}</strong>`}
    </span>
    <span class="link is-${link}"><${Icon} name=${link === 'open' ? 'open' : 'lost'} />${linkName(link)}</span>
  </p>`
}

function linkName(link) {
  return {
    connecting: say('connecting'),
    open: say('connected'),
    lost: say('no connection'),
    refused: say('not signed in'),
  }[link]
}

/** How far the device's clock may be out, in words; or, in its place, what came of a touch. */
export function ClockError({ session }) {
  if (session.notice.value) return html`<strong class="notice" role="status">${session.notice.value}</strong>`
  const offBy = session.offBy.value
  return html`<span class="clock-error">${offBy === null
    ? say('clock not set')
    : say('clock ± {error} s', { error: (Math.ceil(offBy / 10) / 100).toFixed(2) })}</span>`
}

/** A sentence that must be read. */
export function Trouble({ session }) {
  const said = session.link.state.value === 'refused'
    ? say('The server does not know this device any more. Open your sign-in link again; what is saved here stays here.')
    : session.trouble.value
  return html`<div role="alert">${said && html`<p class="trouble"><${Icon} name="danger" /><span>${said}</span>
    <button type="button" onClick=${() => { session.trouble.value = '' }}>${say('Read')}</button></p>`}</div>`
}

/** A window over the page; `Escape` and the last button close it. */
export function Sheet({ title, onClose, wide = false, children }) {
  const place = useRef(null)
  // Before anything is painted, so that the first key already finds it open.
  useLayoutEffect(() => {
    const dialog = place.current
    dialog.showModal()
    return () => dialog.close()
  }, [])
  return html`<dialog ref=${place} class="sheet ${wide ? 'is-wide' : ''}" aria-label=${title}
      onCancel=${event => { event.preventDefault(); onClose() }}>
    <header><h2>${title}</h2>
      <button type="button" class="plain" onClick=${onClose}>${say('Close')}</button></header>
    <div class="sheet-body">${children}</div>
  </dialog>`
}

/** The danger stop: press for a second, or touch and then confirm. */
export function DangerStop({ onDanger }) {
  const [pressing, setPressing] = useState(false)
  const [asking, setAsking] = useState(false)
  const timer = useRef(null)
  const sent = useRef(false)
  const down = moment => {
    if (timer.current) return
    sent.current = false
    setPressing(true)
    timer.current = setTimeout(() => {
      sent.current = true
      up()
      buzz([200, 100, 200])
      onDanger(moment)
    }, PRESS)
  }
  const up = () => {
    clearTimeout(timer.current)
    timer.current = null
    setPressing(false)
  }
  // A key's own click comes at once for Enter and would ask before the second is over.
  const key = (event, act) => {
    if (event.key !== ' ' && event.key !== 'Enter') return
    event.preventDefault()
    act()
  }
  return html`<button type="button" class="danger ${pressing ? 'is-pressing' : ''}"
      onPointerDown=${event => down(event.timeStamp)} onPointerUp=${up} onPointerLeave=${up} onPointerCancel=${up}
      onKeyDown=${event => key(event, () => { if (!event.repeat) down(event.timeStamp) })}
      onKeyUp=${event => key(event, () => { up(); if (!sent.current) setAsking(true) })}
      onBlur=${up} onContextMenu=${event => event.preventDefault()}
      onClick=${() => { if (!sent.current) setAsking(true) }}>
      <${Icon} name="danger" /><span>${say('Danger stop')}</span><small>${say('press 1 second')}</small>
    </button>
    ${asking && html`<${Sheet} title=${say('Stop this run for danger?')} onClose=${() => setAsking(false)}>
      <p>${say('The clock is held and everybody is told. Nobody loses by it.')}</p>
      <button type="button" class="big is-danger" onClick=${event => {
        setAsking(false)
        buzz([200, 100, 200])
        onDanger(momentOf(event))
      }}><${Icon} name="danger" />${say('Stop the run now')}</button>
    <//>`}`
}

/** The band that nobody can miss while a danger stop holds the clock. */
export function DangerBand({ clock }) {
  const hold = clock.holds.find(each => each.end === null && each.danger)
  return html`<div role="alert">${hold && html`<p class="danger-band"><${Icon} name="danger" />
    <strong>${say('Danger stop')}</strong> <span>${say('Everybody stops. The clock is held.')}</span></p>`}</div>`
}

/** What keys other than characters do. */
const keysWithNames = () => ({
  clear: say('Clear'),
  delete: say('Delete the last one'),
  '-': say('minus'),
  '.': say('point'),
  ',': say('comma'),
  '/': say('slash'),
  ' ': say('space'),
  OL: say('open circuit'),
})
const FACES = { delete: '⌫', '-': '−', ' ': '␣' }

/** A pad of large keys, each a character but for `clear`, `delete` and `OL`, which stands alone. */
export function KeyPad({ label, text, onText, keys, longest, shows, wide = false }) {
  const names = keysWithNames()
  const press = key => {
    if (key === 'clear') onText('')
    else if (key === 'OL') onText(key)
    else if (key === 'delete') onText(text === 'OL' ? '' : text.slice(0, -1))
    else if (text === 'OL') onText(key)
    else if (text.length < longest) onText(`${text}${key}`)
  }
  return html`<div class="pad ${wide ? 'is-wide' : ''}" role="group" aria-label=${label}>
    <output class="pad-shows" aria-live="polite">${shows(text)}</output>
    ${keys.map(key => html`<button type="button" key=${key} class=${/^[\d.,]$/.test(key) ? '' : 'is-word'} aria-label=${key === 'OL' ? null : names[key]}
      onClick=${() => press(key)}>${key === 'clear' ? names.clear : key === 'OL' ? html`<span>OL<small>${names.OL}</small></span>` : FACES[key] ?? key}</button>`)}
  </div>`
}

/** A pad for a whole number. `shows` gives what the digits keyed so far mean. */
export function NumberPad({ label, digits, onDigits, longest, shows }) {
  return html`<${KeyPad} label=${label} text=${digits} onText=${each => onDigits(each.replace(/^0+(?=\d)/, ''))} longest=${longest} shows=${shows}
    keys=${['1', '2', '3', '4', '5', '6', '7', '8', '9', 'clear', '0', 'delete']} />`
}

/** A pad for a time, keyed from the right. */
export function TimePad({ label, digits, onDigits, decimals }) {
  return html`<${NumberPad} label=${label} digits=${digits} onDigits=${onDigits} longest=${decimals + 5}
    shows=${each => time(keyed(each, decimals), decimals)} />`
}

/** Choices of this device: hand, buzz. Applied to the whole page. */
export function useHand() {
  const [hand, setHand] = useState(choice('hand', 'right'))
  useEffect(() => { document.documentElement.classList.toggle('left-handed', hand === 'left') }, [hand])
  return [hand, next => { choose('hand', next); setHand(next) }]
}

/** A list of runs to choose from. */
export function RunList({ runs, chosen, onPick }) {
  return html`<ul class="run-list">${runs.map(run => html`<li key=${run.id}>
    <button type="button" aria-pressed=${run.id === chosen ? 'true' : 'false'} onClick=${() => onPick(run.id)}>
      <span class="turn">${run.turn}</span>
      <span class="team">${run.team_name}</span>
      <span class="where">${run.bay}</span>
      <span class="stage is-${run.stage.replace(' ', '-')}">${stageName(run.stage)}</span>
    </button></li>`)}</ul>`
}
