import { correct } from './correct.js'
import { count } from './count.js'
import { hold } from './hold.js'
import { info } from './info.js'
import { mark } from './mark.js'
import { measure } from './measure.js'
import { reading, setting } from './value.js'

/**
 * How each control is shown, beside the breaches, which have a window of their own.
 *
 * `main` is what the one large target says, with its shape and perhaps something `extra`; `tap` is
 * what it does. `Below` stands under it on a large card. `More` are the other answers, behind one
 * touch. `Asked` stands in the close-out. `Said` is what has been said. `Pad` is a window to key.
 */
const CONTROLS = {
  mark, tally: mark, achieve: mark, checklist: mark, count, hold, measure, correct, clock: info, computed: info,
}

/** The control of a rule. */
export function controlOf(rule) {
  if (rule.control === 'value') return rule.kind === 'setting' ? setting : reading
  return CONTROLS[rule.control]
}
