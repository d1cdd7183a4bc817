import { nearestName } from '../errors/nearestName.js';
import { inputError } from '../errors/stillcountError.js';
import { CommandEngine } from './command/engine.js';
import { commandSetting, commandVariable } from './commandSetting.js';
import { EmbeddedEngine } from './embedded/engine.js';
import { openSystemEngine } from './system/engine.js';
import type { VoiceEngine } from './voice.js';

export type VoiceSettings = {
  /** How long one phrase may take. Default 60 s. */
  timeoutMs?: number;
  /** The environment that configures the command voice. Default: this process's. */
  environment?: NodeJS.ProcessEnv;
};

export type VoiceListing = {
  id: string;
  description: string;
  available: boolean;
  /** Why the voice is not available. */
  why?: string;
};

const embeddedVoices = {
  'embedded:slt': { voice: 'slt', description: 'Female voice, needs nothing installed.' },
  'embedded:rms': { voice: 'rms', description: 'Male voice, needs nothing installed.' },
} as const;
const otherIds = ['system', 'command'];
const allowed = [...Object.keys(embeddedVoices), 'system', 'system:NAME', 'command'].join(', ');

/**
 * Opens the voice that a program names: `embedded:slt`, `embedded:rms`, `system`, `system:NAME` or `command`. The
 * caller closes it.
 *
 * @throws StillcountError kind `input` for an unknown or misconfigured voice, kind `work` when this machine lacks it
 */
export async function openVoice(id: string, settings: VoiceSettings = {}): Promise<VoiceEngine> {
  const { timeoutMs = 60_000, environment = process.env } = settings;
  if (isEmbedded(id)) return new EmbeddedEngine(embeddedVoices[id].voice, timeoutMs);
  if (id === 'system') return openSystemEngine(null, timeoutMs);
  if (id.startsWith('system:')) return openSystemEngine(id.slice('system:'.length), timeoutMs);
  if (id === 'command') {
    const command = commandSetting(environment);
    if (command !== null) return new CommandEngine(command, { timeoutMs, parallel: 2 });
    throw inputError({
      message: 'The voice command is not configured.',
      path: 'voice',
      found: id,
      hint: `Set ${commandVariable} to a JSON array: the program and its arguments.`,
    });
  }
  const nearest = nearestName(id, [...Object.keys(embeddedVoices), ...otherIds]);
  throw inputError({
    message: 'There is no such voice.',
    path: 'voice',
    found: id,
    allowed,
    ...(nearest === undefined ? {} : { hint: `Did you mean ${nearest}?` }),
  });
}

/** Lists every voice that a program may name, and whether this machine has it. */
export async function listVoices(settings: VoiceSettings = {}): Promise<VoiceListing[]> {
  const embedded = Object.entries(embeddedVoices).map(([id, { description }]) => ({ id, description }));
  const others = [
    { id: 'system', description: 'The voice of this computer; system:NAME for one of its others.' },
    { id: 'command', description: `Any program that writes a WAV file, set in ${commandVariable}.` },
  ];
  return Promise.all(
    [...embedded, ...others].map(async (voice) => {
      const why = await reasonAgainst(voice.id, settings);
      return why === null ? { ...voice, available: true } : { ...voice, available: false, why };
    }),
  );
}

async function reasonAgainst(id: string, settings: VoiceSettings): Promise<string | null> {
  try {
    const engine = await openVoice(id, settings);
    await engine.close();
    return null;
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}

function isEmbedded(id: string): id is keyof typeof embeddedVoices {
  return Object.hasOwn(embeddedVoices, id);
}
