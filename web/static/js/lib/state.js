/**
 * What every screen of the staff knows: who it is for, the rulebook, the runs, the record it has
 * seen and the entries it has kept itself. Pure; `apply` gives a new state and changes nothing.
 */

export const NOTHING = {
  me: null,
  event: null,
  tasks: [],
  rules: [],
  posts: {},
  clock: {},
  /** What the result is, and what is drawn for each run. */
  result: 'time',
  givens: {},
  runs: {},
  /** The run on the screen, whether a person chose it, and the bay this device stands in. */
  chosen: null,
  picked: false,
  bay: null,
  /** For each run followed: its entries by id, and the number up to which they are known. */
  records: {},
  /** The engine's word on runs, as far as this person may see it. */
  cards: {},
  /** Entries kept on this device that the server has not acknowledged, and those it refused. */
  waiting: [],
  refused: [],
}

/** The state after a message: a reply, a push, or what this device did. */
export function apply(state, { name, ...said }) {
  switch (name) {
    case 'hello':
      return {
        ...state,
        ...pick(said, ['me', 'event', 'result', 'tasks', 'rules', 'posts', 'clock', 'givens']),
        runs: Object.fromEntries(said.runs.map(run => [run.id, run])),
      }
    case 'stage':
      return { ...state, runs: { ...state.runs, [said.run.id]: said.run } }
    case 'followed':
      return learn(
        { ...state, runs: { ...state.runs, [said.run.id]: said.run } },
        said.run.id, said.entries, said.reached,
      )
    case 'stored':
      return said.entries.reduce(
        (now, { entry, seq }) => learn(now, entry.run, [{ entry, seq }]), state,
      )
    case 'card':
      return { ...state, cards: { ...state.cards, [said.run]: said.card } }
    case 'kept':
      return { ...state, waiting: said.waiting, refused: said.refused }
    case 'picked':
      return { ...state, chosen: said.run, picked: true, bay: state.runs[said.run].bay }
    case 'placed':
      return { ...state, bay: said.bay }
    default:
      return state
  }
}

function learn(state, run, stored, reached = 0) {
  const before = state.records[run] ?? { entries: {}, reached: 0 }
  const added = Object.fromEntries(stored.map(({ entry }) => [entry.id, entry]))
  const record = {
    entries: { ...before.entries, ...added },
    reached: Math.max(before.reached, reached),
  }
  return { ...state, records: { ...state.records, [run]: record } }
}

/** Every entry this screen holds of a run: the record's and its own that are still on their way. */
export function entriesOf(state, run) {
  const record = Object.values(state.records[run]?.entries ?? {})
  return [...record, ...state.waiting.filter(entry => entry.run === run)]
}

/** The runs in the order of the day. */
export function inTurn(state) {
  return Object.values(state.runs).sort((one, two) => one.turn - two.turn || (one.bay < two.bay ? -1 : 1))
}

/** The screen's rules by id. */
export function rulesById(state) {
  return Object.fromEntries(state.rules.map(rule => [rule.id, rule]))
}

const BUSY = ['running', 'held', 'walkthrough']
const ENDED = ['closing out', 'closed out']

/**
 * The run that a tablet should show.
 *
 * A person's choice stands until it is done here, and so does a run that is under way or not yet
 * closed out. Otherwise it is the one that goes on, then one left open, then the next: in the bay
 * where the device stands, once somebody has chosen a run there.
 */
export function runToShow(state, isDone) {
  const now = state.runs[state.chosen]
  if (now && (state.picked || BUSY.includes(now.stage) || (ENDED.includes(now.stage) && !isDone(now.id)))) {
    return now.id
  }
  const runs = inTurn(state).filter(run => state.bay === null || run.bay === state.bay)
  const found = runs.find(run => BUSY.includes(run.stage))
    ?? runs.find(run => run.stage === 'closing out' && !isDone(run.id))
    ?? runs.find(run => run.stage === 'waiting')
  return (found ?? now ?? runs[0])?.id ?? null
}

function pick(from, keys) {
  return Object.fromEntries(keys.filter(key => key in from).map(key => [key, from[key]]))
}
