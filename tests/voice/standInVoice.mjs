/** A voice program for tests: a steady tone whose length grows with the text. Options: --out FILE, -- TEXT. */
import { readFileSync, writeFileSync } from 'node:fs';

const args = process.argv.slice(2);
const outAt = args.indexOf('--out');
const textAt = args.indexOf('--');
const text = textAt >= 0 ? args.slice(textAt + 1).join(' ') : readFileSync(0, 'utf8');
const length = 4000 + 40 * text.length;
const wave = Buffer.alloc(44 + 2 * length);
wave.write('RIFF', 0, 'latin1');
wave.writeUInt32LE(36 + 2 * length, 4);
wave.write('WAVEfmt ', 8, 'latin1');
wave.writeUInt32LE(16, 16);
wave.writeUInt16LE(1, 20);
wave.writeUInt16LE(1, 22);
wave.writeUInt32LE(16000, 24);
wave.writeUInt32LE(32000, 28);
wave.writeUInt16LE(2, 32);
wave.writeUInt16LE(16, 34);
wave.write('data', 36, 'latin1');
wave.writeUInt32LE(2 * length, 40);
for (let at = 0; at < length; at += 1) wave.writeInt16LE(Math.round(8000 * Math.sin(at * 0.4)), 44 + 2 * at);
if (outAt >= 0) writeFileSync(args[outAt + 1], wave);
else process.stdout.write(wave);
