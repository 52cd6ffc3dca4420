/**
 * Numbers as they were read, compared exactly: a decimal against a fraction `"192/5"`, as the
 * engine does it, so that a tablet without a connection says the same.
 */

/** A decimal as a fraction of two BigInts; null where it is none. */
function fraction(text) {
  const found = /^(-?)(\d{0,12})(?:\.(\d{1,9}))?$/.exec(text)
  if (!found || (found[2] === '' && found[3] === undefined)) return null
  const [, sign, whole, rest = ''] = found
  const above = BigInt(`${whole || '0'}${rest}`)
  return [sign ? -above : above, 10n ** BigInt(rest.length)]
}

/** Whether a text is a decimal number with a point. */
export function isDecimal(text) {
  return fraction(text) !== null
}

/** Whether a decimal lies between two fractions, ends included. */
export function isBetween(text, low, high) {
  const read = fraction(text)
  if (read === null) return false
  return compare(read, ends(low)) >= 0 && compare(read, ends(high)) <= 0
}

function ends(text) {
  return text.split('/').map(BigInt)
}

/** The denominators are above nothing. */
function compare([above, below], [over, under]) {
  const apart = above * under - over * below
  return apart > 0n ? 1 : apart < 0n ? -1 : 0
}
