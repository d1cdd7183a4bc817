import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { workError } from '../../errors/stillcountError.js';
import { type ClientTexts, clientFiles } from './clientFiles.js';

/**
 * Reads what browsers load: as bundled with the package, or bundled now if the service runs from source.
 *
 * @throws StillcountError kind `work` if the package is incomplete
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
  const file = fileURLToPath(new URL(`../../bundles/${clientFiles[name]}`, import.meta.url));
  try {
    return await readFile(file, 'utf8');
  } catch (error) {
    throw workError(
      { message: 'a file of this installation is missing', file, hint: 'install Stillcount again' },
      error,
    );
  }
}
