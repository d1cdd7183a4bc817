import { join } from 'node:path';
import { SegmentStore } from '../audio/segmentStore.js';
import type { Catalogue } from '../catalogue/catalogue.js';
import { BlobCache } from '../files/blobCache.js';
import type { Interview } from '../screening/interview.js';
import { KnownClips } from '../voice/clipLibrary.js';
import { readCatalogues } from './readCatalogues.js';
import { readInterview } from './readInterview.js';
import type { Settings } from './settings.js';

/** What making sessions needs and shares: the words, and everything made so far. */
export type Workshop = {
  catalogues: ReadonlyMap<string, Catalogue>;
  /** Folder of the starter programs. */
  startersFolder: string;
  clipCache: BlobCache;
  knownClips: KnownClips;
  segments: SegmentStore;
};

/** The same for those who prescribe. */
export type ClinicWorkshop = Workshop & {
  /** What a person is asked before a program, and the rules that follow. */
  interview: Interview;
};

/** Opens the workshop with the interview. Errors as for {@link openWorkshop}. */
export async function openClinicWorkshop(settings: Settings): Promise<ClinicWorkshop> {
  const workshop = await openWorkshop(settings);
  return { ...workshop, interview: await readInterview(settings.templatesFolder, workshop.catalogues) };
}

/**
 * Opens the workshop of a data folder. Clips and segments made by earlier runs are used again; the folder may
 * be shared by several processes and may be deleted at any time.
 *
 * @throws StillcountError when the spoken words cannot be read or are wrong
 */
export async function openWorkshop(settings: Settings): Promise<Workshop> {
  const cache = new BlobCache(join(settings.dataFolder, 'cache'));
  return {
    catalogues: await readCatalogues(settings.templatesFolder),
    startersFolder: join(settings.templatesFolder, 'en', 'programs'),
    clipCache: cache,
    knownClips: new KnownClips(),
    segments: new SegmentStore(cache),
  };
}
