/**
 * A new UUIDv7 (RFC 9562, 5.7): 48 bits of `now` in milliseconds, the rest random.
 *
 * `crypto.randomUUID` is missing on plain http; `getRandomValues` is not.
 */
export function newId(now) {
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  let rest = now
  for (let n = 5; n >= 0; n -= 1) {
    bytes[n] = rest % 256
    rest = Math.floor(rest / 256)
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70
  bytes[8] = (bytes[8] & 0x3f) | 0x80
  const hex = [...bytes].map(byte => byte.toString(16).padStart(2, '0')).join('')
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5')
}
