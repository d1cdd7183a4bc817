import { createHash } from 'node:crypto';
import { mkdtemp, open, rm, writeFile } from 'node:fs/promises';
import type { Server } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import express from 'express';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { sendFile } from '../../../src/http/server/sendFile.js';

const whole = Buffer.from(Array.from({ length: 10_000 }, (_, index) => index % 251));
const sha256 = createHash('sha256').update(whole).digest('hex');
let folder: string;
let server: Server;
let address: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillcount-ranges-'));
  const file = join(folder, 'session.mp3');
  await writeFile(file, whole);
  const app = express();
  app.get('/', async (_request, response) => {
    const checked = { handle: await open(file), bytes: whole.length, sha256 };
    await sendFile(response, checked, { name: 'session.mp3', download: null });
  });
  await new Promise<void>((resolve) => {
    server = app.listen(0, '127.0.0.1', () => resolve());
  });
  const at = server.address();
  address = `http://127.0.0.1:${typeof at === 'object' && at !== null ? at.port : 0}/`;
});
afterAll(async () => {
  server.closeAllConnections();
  await new Promise((resolve) => server.close(resolve));
  await rm(folder, { recursive: true, force: true });
});

async function asked(headers: Record<string, string>) {
  const response = await fetch(address, { headers });
  const bytes = Buffer.from(await response.arrayBuffer());
  return { status: response.status, range: response.headers.get('content-range'), bytes };
}

describe('RANGE-2: a range of a file', () => {
  // The examples of RFC 9110, section 14.1.2, for a file of 10,000 bytes.
  it.each([
    ['bytes=0-499', 0, 499],
    ['bytes=500-999', 500, 999],
    ['bytes=-500', 9500, 9999],
    ['bytes=9500-', 9500, 9999],
    ['bytes=0-0', 0, 0],
    ['bytes=-1', 9999, 9999],
    ['bytes=9999-20000', 9999, 9999],
  ])('RANGE-2: %s is answered with exactly its bytes', async (range, first, last) => {
    const answer = await asked({ range });
    expect([answer.status, answer.range]).toEqual([206, `bytes ${first}-${last}/10000`]);
    expect(answer.bytes.equals(whole.subarray(first, last + 1))).toBe(true);
  });

  it('RANGE-2: of any place is the same bytes as in the whole', async () => {
    await fc.assert(
      fc.asyncProperty(fc.nat({ max: 9_999 }), fc.nat({ max: 12_000 }), async (first, length) => {
        const { status, bytes } = await asked({ range: `bytes=${first}-${first + length}` });
        expect(status).toBe(206);
        expect(bytes.equals(whole.subarray(first, first + length + 1))).toBe(true);
      }),
      { numRuns: 40 },
    );
  });

  it('RANGE-2: that is not there is refused with the length (RFC 9110, section 15.5.17)', async () => {
    const answer = await asked({ range: 'bytes=10000-' });
    expect([answer.status, answer.range, answer.bytes.length]).toEqual([416, 'bytes */10000', 0]);
  });

  it('RANGE-2: of other bytes, several at once, or in another unit is answered with the whole', async () => {
    const range = 'bytes=0-499';
    const etag = `"${sha256.slice(0, 32)}"`;
    expect((await asked({ range, 'if-range': etag })).status).toBe(206);
    for (const headers of [
      { range, 'if-range': '"other"' },
      { range: 'bytes=0-1,500-600' },
      { range: 'words=0-499' },
    ]) {
      const answer = await asked(headers);
      expect([answer.status, answer.bytes.length], JSON.stringify(headers)).toEqual([200, 10_000]);
    }
  });
});
