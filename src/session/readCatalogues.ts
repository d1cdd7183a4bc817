import { readdir } from 'node:fs/promises';
import { join, sep } from 'node:path';
import { type Catalogue, parseCatalogue } from '../catalogue/catalogue.js';
import { workError } from '../errors/stillcountError.js';
import type { BlobCache } from '../files/blobCache.js';
import { readHouseText } from './readHouseText.js';

/**
 * Reads every language folder of the templates once.
 *
 * @param folder the audio-templates folder
 * @param cache as for {@link readHouseText}
 * @returns the catalogues by language tag
 * @throws StillcountError kind `work` when the folder cannot be read, kind `input` when a file in it is wrong
 */
export async function readCatalogues(
  folder: string,
  cache: BlobCache | null = null,
): Promise<ReadonlyMap<string, Catalogue>> {
  try {
    const entries = await readdir(folder, { withFileTypes: true });
    const languages = entries.filter((entry) => entry.isDirectory()).map((entry) => entry.name);
    const catalogues = await Promise.all(
      languages.sort().map((name) => readLanguage(join(folder, name), cache)),
    );
    return new Map(catalogues.map((catalogue) => [catalogue.language, catalogue]));
  } catch (cause) {
    if (cause instanceof Error && cause.name === 'StillcountError') throw cause;
    throw workError(
      {
        file: folder,
        message: 'the spoken templates cannot be read',
        hint: 'unset STILLCOUNT_TEMPLATES, or name the folder that holds a folder for each language',
      },
      cause,
    );
  }
}

async function readLanguage(folder: string, cache: BlobCache | null): Promise<Catalogue> {
  const names = await readdir(folder, { recursive: true });
  const yamlNames = names.filter((name) => name.endsWith('.yaml') && !name.startsWith('programs')).sort();
  const files = await Promise.all(
    yamlNames.map(async (name) => ({
      path: join(folder, name).split(sep).join('/'),
      text: await readHouseText(join(folder, name), cache),
    })),
  );
  return parseCatalogue(files, folder);
}
