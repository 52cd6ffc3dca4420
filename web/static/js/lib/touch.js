/** How long a finger may rest before the touch counts from its end, in milliseconds. */
const LONGEST = 2_000
/** After large targets have moved, a touch this soon was meant for what stood there before. */
const SETTLING = 350

let down = { target: null, at: 0 }
let movedAt = 0

document.addEventListener('pointerdown', event => {
  down = { target: event.target.closest('button'), at: event.timeStamp }
}, true)

/** The moment of a click on the steady clock: when the finger came down, not when it left. */
export function momentOf(event) {
  const isSame = down.target === event.currentTarget && event.timeStamp - down.at < LONGEST
  return isSame ? down.at : event.timeStamp
}

/** Say that targets have moved. */
export function targetsMoved() {
  movedAt = performance.now()
}

/** Whether a touch came too soon after targets moved to be meant for what stands there now. */
export function isTooSoon(moment) {
  return moment - movedAt < SETTLING
}

/** A short buzz, where there is one. */
export function buzz(pattern = 30) {
  navigator.vibrate?.(pattern)
}

/** Keep the screen awake while the page is in sight; resolves to whether that is possible. */
export async function stayAwake() {
  if (!('wakeLock' in navigator)) return false
  const hold = async () => {
    try {
      await navigator.wakeLock.request('screen')
    } catch {
      // Refused on low battery or in the background; asked for again when the page is back.
    }
  }
  document.addEventListener('visibilitychange', () => { if (!document.hidden) hold() })
  await hold()
  return true
}

/** A choice of this device, kept in its own storage; memory where there is none. */
export function choice(name, usual) {
  try {
    return localStorage.getItem(`fairlead ${name}`) ?? usual
  } catch {
    return usual
  }
}

/** Keep a choice of this device. */
export function choose(name, value) {
  try {
    localStorage.setItem(`fairlead ${name}`, value)
  } catch {
    // Private windows have no storage; the choice then lasts as long as the page.
  }
}
