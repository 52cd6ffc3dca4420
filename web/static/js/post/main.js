import { html, render } from '../../vendor/htm-preact.js'
import { Session } from '../lib/session.js'
import { apply, NOTHING } from './state.js'
import { Post } from './view.js'
import '../../vendor/signals.js'

const session = new Session(apply, NOTHING, { onPush: news })
render(html`<${Post} session=${session} />`, document.body)
session.begin()

/** What an assessment has come to is the engine's to say: ask once there is something new. */
async function news(name) {
  const { chosen: run, result } = session.state.peek()
  if (result !== 'assessment' || !run || (name !== 'hello' && name !== 'reached')) return
  const reply = await session.ask('card', { run })
  if (reply) session.tell({ name: 'card', run, card: reply.scorecard })
}
