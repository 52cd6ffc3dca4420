import { html, render } from '../../vendor/htm-preact.js'
import { Session } from '../lib/session.js'
import { apply, NOTHING } from './state.js'
import { Post } from './view.js'
import '../../vendor/signals.js'

const session = new Session(apply, NOTHING)
render(html`<${Post} session=${session} />`, document.body)
session.begin()
