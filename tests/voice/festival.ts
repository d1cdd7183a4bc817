import { existsSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { findProgram } from '../../src/voice/programs/findProgram.js';
import { LinuxSystemEngine } from '../../src/voice/system/linuxEngine.js';
import type { VoiceEngine } from '../../src/voice/voice.js';

const text2wave = findProgram('text2wave');
const voiceFolder = '/usr/share/festival/voices/english/kal_diphone';

/** Why this machine cannot run festival; undefined when it can. */
export const missingFestival =
  text2wave !== null && existsSync(voiceFolder) ? undefined : 'festival or its usual voice is not installed';

/** The system voice of a machine on which festival is the only one. */
export async function openFestival(): Promise<VoiceEngine> {
  const folder = mkdtempSync(join(tmpdir(), 'stillcount-festival-'));
  if (text2wave !== null) symlinkSync(text2wave, join(folder, 'text2wave'));
  const searchPath = process.env.PATH;
  process.env.PATH = folder;
  try {
    return new OnlyFestival(folder);
  } finally {
    process.env.PATH = searchPath;
  }
}

class OnlyFestival extends LinuxSystemEngine {
  constructor(readonly folder: string) {
    super(null, 30_000);
  }

  override async close(): Promise<void> {
    await super.close();
    rmSync(this.folder, { recursive: true, force: true });
  }
}
