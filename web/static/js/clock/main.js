import { html, render } from '../../vendor/htm-preact.js'
import { Session } from '../lib/session.js'
import { apply, NOTHING } from './state.js'
import { Clock } from './view.js'
import '../../vendor/signals.js'

const session = new Session(apply, NOTHING, { onPush: news })
render(html`<${Clock} session=${session} />`, document.body)
session.begin()

/** The official time is the engine's to say: ask once there is something new on the record. */
async function news(name) {
  const run = session.state.value.chosen
  if (!run || (name !== 'hello' && name !== 'reached')) return
  const reply = await session.ask('card', { run })
  if (reply) session.tell({ name: 'card', run, card: reply.scorecard })
}
