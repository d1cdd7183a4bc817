import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { workError } from '../errors/stillcountError.js';

/** The names under which bundles stand in `dist/browser`. */
export const clientFiles = {
  clinicStyle: 'clinic.css',
  clinicScript: 'clinic.js',
  listeningStyle: 'listening.css',
  listeningScript: 'listening.js',
  /** A module that the listening page loads when somebody looks at its settings. */
  reminding: 'reminding.js',
  /** Reads two constants that are put before it when the service starts. */
  worker: 'worker.js',
} as const;

/** What browsers load, each as one text. */
export type ClientTexts = Readonly<Record<keyof typeof clientFiles, string>>;

/**
 * Reads what browsers load: as it was bundled with the package, or bundled now where the service runs from its source.
 *
 * @throws StillcountError kind `work` when the package is not whole
 */
export async function readClientTexts(): Promise<ClientTexts> {
  if (import.meta.url.endsWith('.ts')) {
    const { bundleClient } = await import('./bundleClient.js');
    return bundleClient();
  }
  const [clinicStyle, clinicScript, listeningStyle, listeningScript, reminding, worker] = await Promise.all([
    readBundle('clinicStyle'),
    readBundle('clinicScript'),
    readBundle('listeningStyle'),
    readBundle('listeningScript'),
    readBundle('reminding'),
    readBundle('worker'),
  ]);
  return { clinicStyle, clinicScript, listeningStyle, listeningScript, reminding, worker };
}

async function readBundle(name: keyof typeof clientFiles): Promise<string> {
  const file = fileURLToPath(new URL(`../browser/${clientFiles[name]}`, import.meta.url));
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    throw workError(
      { message: 'a file of this installation is missing', file, hint: 'install Stillcount again' },
      error,
    );
  }
}
