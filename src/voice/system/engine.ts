import { inputError, workError } from '../../errors/stillcountError.js';
import type { VoiceEngine } from '../voice.js';
import { DesktopSystemEngine } from './desktopEngine.js';
import { LinuxSystemEngine } from './linuxEngine.js';

/**
 * Allowed names of system voices. They become part of a command line (and, on Windows and for festival, of a short
 * script), so each pattern excludes every character with a special meaning there.
 */
const voiceNames = {
  linux: { pattern: /^[A-Za-z0-9][A-Za-z0-9_+-]{0,63}$/, allowed: 'letters, digits, _ + -' },
  darwin: {
    pattern: /^[\p{L}\p{N}][\p{L}\p{N} ._()-]{0,63}$/u,
    allowed: 'letters, digits, spaces, . _ ( ) -',
  },
  win32: { pattern: /^[\p{L}\p{N}][\p{L}\p{N} ._-]{0,63}$/u, allowed: 'letters, digits, spaces, . _ -' },
} as const;

/**
 * Opens the voice of the operating system.
 *
 * @param voice a name the system knows, or null for its default
 * @throws StillcountError kind `input` for a name outside the allowed pattern, kind `work` when the system has no voice
 */
export function openSystemEngine(voice: string | null, timeoutMs: number): VoiceEngine {
  const { platform } = process;
  const names = platform === 'darwin' || platform === 'win32' ? voiceNames[platform] : voiceNames.linux;
  if (voice !== null && !names.pattern.test(voice)) {
    throw inputError({
      message: 'This cannot be the name of a system voice.',
      path: 'voice',
      found: `system:${voice}`,
      allowed: `system:NAME, where NAME starts with a letter or digit and has only ${names.allowed}`,
    });
  }
  if (platform === 'darwin' || platform === 'win32') {
    return new DesktopSystemEngine(voice, timeoutMs, platform);
  }
  if (platform === 'linux' || platform === 'freebsd' || platform === 'openbsd') {
    return new LinuxSystemEngine(voice, timeoutMs);
  }
  throw workError({ message: `System voices are not known for ${platform}.`, hint: 'Use embedded:slt.' });
}
