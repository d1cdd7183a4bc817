import { chmodSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll } from 'vitest';
import { openVoice } from '../../src/voice/openVoice.js';
import { findProgram } from '../../src/voice/programs/findProgram.js';
import { DesktopSystemEngine } from '../../src/voice/system/desktopEngine.js';
import { isWhole } from '../long.js';
import { describeVoiceContract } from './contract.js';
import { missingFestival, openFestival } from './festival.js';

const espeak = findProgram('espeak-ng');
const needsEspeak = espeak === null ? 'espeak-ng is not installed' : undefined;
const standIn = fileURLToPath(new URL('./standInVoice.mjs', import.meta.url));

const withCommand = (command: readonly string[]) => () =>
  openVoice('command', { environment: { STILLCOUNT_VOICE_COMMAND: JSON.stringify(command) } });

describeVoiceContract({ name: 'embedded:slt', open: () => openVoice('embedded:slt') });
// The other embedded voice is the same program with other sounds.
if (isWhole('voices')) describeVoiceContract({ name: 'embedded:rms', open: () => openVoice('embedded:rms') });
describeVoiceContract({
  name: 'system',
  open: () => openVoice('system'),
  missing: process.platform === 'linux' ? needsEspeak : undefined,
});
describeVoiceContract({
  name: 'system, where festival is the only one',
  open: openFestival,
  missing: missingFestival,
});
describeVoiceContract({
  name: 'command: a program that reads its input and writes to its output',
  open: withCommand([process.execPath, standIn]),
  obeysRate: false,
});
describeVoiceContract({
  name: 'command: a program that takes text and file as arguments',
  open: withCommand([process.execPath, standIn, '--out', '{out}', '--', '{text}']),
  obeysRate: false,
});
describeVoiceContract({
  name: 'command: espeak-ng, streamed',
  open: withCommand(['espeak-ng', '-s', '{wordsPerMinute}', '--stdout', '--stdin']),
  missing: needsEspeak,
});

/** A `say` command as macOS has it, played by espeak-ng, so that the path through the package is really run. */
const folder = mkdtempSync(join(tmpdir(), 'stillcount-say-'));
const searchPath = process.env.PATH ?? '';
writeFileSync(
  join(folder, 'say'),
  `#!/bin/sh
text=$1; shift
case $text in -*) echo "say: unknown option" >&2; exit 1;; esac
while [ $# -gt 0 ]; do case $1 in -r) rate=$2; shift;; -o) out=$2; shift;; esac; shift; done
printf '%s' "$text" | ${espeak ?? 'false'} -s "$rate" -w "$out" --stdin
`,
);
chmodSync(join(folder, 'say'), 0o755);
afterAll(() => {
  process.env.PATH = searchPath;
  rmSync(folder, { recursive: true, force: true });
});
describeVoiceContract({
  name: 'system on macOS, its command played by espeak-ng',
  open: async () => {
    process.env.PATH = `${folder}:${searchPath}`;
    return new DesktopSystemEngine(null, 30_000, 'darwin');
  },
  missing:
    process.platform === 'linux'
      ? needsEspeak
      : 'only where a stand-in for the command can be put on the path',
});
