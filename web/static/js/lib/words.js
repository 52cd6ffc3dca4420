/**
 * The one door for words on the screen. The English sentence is the key; a language is a table
 * from those sentences to its own. Callouts and rules never pass here: they are the event's words.
 */
let table = {}
let plural = new Intl.PluralRules('en')

/** Speak another language: a table of sentences, several of them plural forms by CLDR category. */
export function speak(language, sentences) {
  table = sentences
  plural = new Intl.PluralRules(language)
}

/** A sentence in the screen's language, with its `{names}` filled in. */
export function say(sentence, values = {}) {
  return fill(table[sentence] ?? sentence, values)
}

/** A sentence that depends on a number: `one` for one, `more` for any other, `{n}` in both. */
export function sayMany(one, more, n, values = {}) {
  const form = plural.select(n)
  const forms = table[more] ?? { one, other: more }
  return fill(forms[form] ?? forms.other, { n, ...values })
}

function fill(sentence, values) {
  return sentence.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? ''))
}
