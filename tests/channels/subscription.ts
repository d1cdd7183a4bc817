import { createDecipheriv, createECDH, createHmac, createPublicKey, randomBytes, verify } from 'node:crypto';

/**
 * A browser as far as web push goes: its subscription, and how it reads what comes. Written from RFC 8291, RFC 8188
 * and RFC 5869 with the primitives of node:crypto alone, so that it shares nothing with the package that encrypts.
 */
export class TestBrowser {
  readonly #keys = createECDH('prime256v1');
  readonly #auth = randomBytes(16);

  constructor(readonly endpoint: string) {
    this.#keys.generateKeys();
  }

  /** As `PushSubscription.toJSON` gives it. */
  subscription(): { endpoint: string; expirationTime: null; keys: { p256dh: string; auth: string } } {
    const p256dh = this.#keys.getPublicKey().toString('base64url');
    return {
      endpoint: this.endpoint,
      expirationTime: null,
      keys: { p256dh, auth: this.#auth.toString('base64url') },
    };
  }

  decrypt(body: Buffer): string {
    return decryptPush(body, {
      auth: this.#auth,
      publicKey: this.#keys.getPublicKey(),
      sharedSecretWith: (key) => this.#keys.computeSecret(key),
    });
  }
}

type Reader = { auth: Buffer; publicKey: Buffer; sharedSecretWith(senderKey: Buffer): Buffer };

/** One encrypted record (RFC 8188, section 2) with the keys of RFC 8291, section 3.4. */
export function decryptPush(body: Buffer, { auth, publicKey, sharedSecretWith }: Reader): string {
  const salt = body.subarray(0, 16);
  const recordBytes = body.readUInt32BE(16);
  const senderKey = body.subarray(21, 21 + body.readUInt8(20));
  const record = body.subarray(21 + senderKey.length);
  if (record.length > recordBytes) throw new Error('more than one record');

  const keyInfo = Buffer.concat([Buffer.from('WebPush: info\0'), publicKey, senderKey]);
  const inputKey = hkdf(auth, sharedSecretWith(senderKey), keyInfo, 32);
  const contentKey = hkdf(salt, inputKey, Buffer.from('Content-Encoding: aes128gcm\0'), 16);
  const nonce = hkdf(salt, inputKey, Buffer.from('Content-Encoding: nonce\0'), 12);

  const decipher = createDecipheriv('aes-128-gcm', contentKey, nonce);
  decipher.setAuthTag(record.subarray(-16));
  const padded = Buffer.concat([decipher.update(record.subarray(0, -16)), decipher.final()]);
  // The last record ends with a two and then zeros.
  const end = padded.lastIndexOf(2);
  if (end < 0 || padded.subarray(end + 1).some((byte) => byte !== 0)) throw new Error('not the last record');
  return padded.subarray(0, end).toString();
}

/** Extract and expand (RFC 5869), for at most one block. */
function hkdf(salt: Buffer, input: Buffer, info: Buffer, bytes: number): Buffer {
  const extracted = createHmac('sha256', salt).update(input).digest();
  return createHmac('sha256', extracted)
    .update(info)
    .update(Buffer.from([1]))
    .digest()
    .subarray(0, bytes);
}

/**
 * Reads the header `Authorization` of a sender that shows who it is (RFC 8292, section 3; RFC 7515 for the token).
 *
 * @throws when the signature is not that of the key that stands beside it
 */
export function readVapid(authorization: string): { publicKey: string; claims: Record<string, unknown> } {
  const { token, publicKey } =
    /^vapid t=(?<token>[^,\s]+), ?k=(?<publicKey>[\w-]+)$/.exec(authorization)?.groups ?? {};
  if (token === undefined || publicKey === undefined) throw new Error('not the scheme vapid');
  const [header = '', claims = '', signature = ''] = token.split('.');
  const point = Buffer.from(publicKey, 'base64url');
  const key = createPublicKey({
    format: 'jwk',
    key: {
      kty: 'EC',
      crv: 'P-256',
      x: point.subarray(1, 33).toString('base64url'),
      y: point.subarray(33).toString('base64url'),
    },
  });
  const isSigned = verify(
    'sha256',
    Buffer.from(`${header}.${claims}`),
    { key, dsaEncoding: 'ieee-p1363' },
    Buffer.from(signature, 'base64url'),
  );
  if (!isSigned) throw new Error('signed by another key');
  const { alg } = JSON.parse(Buffer.from(header, 'base64url').toString());
  if (alg !== 'ES256') throw new Error('another algorithm');
  return { publicKey, claims: JSON.parse(Buffer.from(claims, 'base64url').toString()) };
}
