/** What the board knows: the latest posting, or that there is none yet. */
export const NOTHING = { posting: null, isKnown: false }

/** The state after a message. Older postings never replace newer ones. */
export function apply(state, { name, ...said }) {
  if (name !== 'board') return state
  const isOlder = state.posting && said.posting && said.posting.number < state.posting.number
  return isOlder ? state : { posting: said.posting, isKnown: true }
}

/** The rows that one page of the board shows, and how many pages there are. */
export function page(rows, perPage, n) {
  const pages = Math.max(1, Math.ceil(rows.length / perPage))
  const at = n % pages
  return { rows: rows.slice(at * perPage, (at + 1) * perPage), at, pages }
}
