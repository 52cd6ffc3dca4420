import { OBSERVATIONS } from '../lib/record.js'
import { apply, derive as derivePost, lastDone, NOTHING } from '../post/state.js'

export { apply, NOTHING }

const OBSERVED = new Set([...OBSERVATIONS, 'close-out', 'signal', 'watch'])

/** Everything that the clock screen shows of a state. */
export function derive(state) {
  const derived = derivePost(state)
  const readings = {}
  for (const entry of derived.live) if (entry.kind === 'watch') readings[entry.what.watch] = entry
  const here = state.posts[state.me?.post]?.watches || state.clock.watches || 1
  return {
    ...derived,
    readings,
    watches: Array.from({ length: here }, (_, n) => n + 1),
    last: lastDone(derived.live, state.me, OBSERVED),
    toExplain: holdWithoutReason(derived.live, derived.clock),
  }
}

/** The hold that is open and says no reason yet. */
function holdWithoutReason(live, clock) {
  const open = clock.holds.at(-1)
  if (!open || open.end !== null || open.reason || open.danger) return null
  return live.find(entry => entry.kind === 'signal' && entry.what.signal === 'hold' && entry.at === open.begin) ?? null
}
