import { newId } from './ids.js'

/** The number of the form in which entries are written; the server's codec reads it. */
const SHAPE = 1

/** An entry of a run's record, signed by `me`, at a moment of the server's clock. */
export function entry(me, run, { at, offBy }, kind, what) {
  return {
    shape: SHAPE,
    kind,
    id: newId(at),
    run,
    by: me.person,
    post: me.post ?? null,
    at,
    off_by: offBy,
    what,
  }
}
