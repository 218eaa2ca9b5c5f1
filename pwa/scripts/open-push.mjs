/**
 * Opens push messages with libraries that share nothing with the server: the
 * body with http_ece, the token with jose. Reads a JSON list of
 * {body, private, public, auth, authorization, origin, at} (binary as
 * base64url, at in Unix seconds) and writes a list of {text, claims}. A
 * message that does not open ends it with an error.
 */
import { createECDH } from 'node:crypto'
import { readFileSync } from 'node:fs'
import ece from 'http_ece'
import { importJWK, jwtVerify } from 'jose'

const binary = (text) => Buffer.from(text, 'base64url')

async function open(message) {
  const privateKey = createECDH('prime256v1')
  privateKey.setPrivateKey(binary(message.private))
  const text = ece.decrypt(binary(message.body), {
    version: 'aes128gcm',
    privateKey,
    authSecret: message.auth,
  })
  const [, token, key] = /^vapid t=([^,]+), k=(.+)$/.exec(message.authorization)
  const point = binary(key)
  const jwk = { kty: 'EC', crv: 'P-256', x: encode(point.subarray(1, 33)), y: encode(point.subarray(33, 65)) }
  const { payload } = await jwtVerify(token, await importJWK(jwk, 'ES256'), {
    algorithms: ['ES256'],
    audience: message.origin,
    currentDate: new Date(message.at * 1000),
    requiredClaims: ['aud', 'exp', 'sub'],
  })
  return { text: text.toString('utf8'), claims: payload }
}

const encode = (bytes) => Buffer.from(bytes).toString('base64url')

const messages = JSON.parse(readFileSync(0, 'utf8'))
console.log(JSON.stringify(await Promise.all(messages.map(open))))
