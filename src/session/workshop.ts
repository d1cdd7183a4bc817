import { join } from 'node:path';
import { SegmentStore } from '../audio/segmentStore.js';
import type { Catalogue } from '../catalogue/catalogue.js';
import type { PaperTexts } from '../documents/filled.js';
import type { EncoderTimes } from '../ffmpeg/encoderTimes.js';
import { BlobCache } from '../files/blobCache.js';
import type { Measures } from '../followup/measures.js';
import type { Progression } from '../followup/progression.js';
import type { WarningSigns } from '../followup/warningSigns.js';
import type { WarningWords } from '../listening/findWarningWords.js';
import type { Prompts } from '../listening/prompts.js';
import type { Interview } from '../screening/interview.js';
import { KnownClips } from '../voice/clipLibrary.js';
import { readCatalogues } from './readCatalogues.js';
import {
  readInterview,
  readMeasures,
  readProgression,
  readPrompts,
  readWarningSigns,
  readWarningWords,
} from './readClinicWords.js';
import { readPapers } from './readPapers.js';
import type { Settings } from './settings.js';

/** The shared resources for making sessions: the words, and everything made so far. */
export type Workshop = {
  catalogues: ReadonlyMap<string, Catalogue>;
  /** Folder of the starter programs. */
  startersFolder: string;
  clipCache: BlobCache;
  knownClips: KnownClips;
  segments: SegmentStore;
};

/** The shared resources of a clinic, for its clinicians and their listeners. */
export type ClinicWorkshop = Workshop & {
  /** The questions before a program, and their rules. */
  interview: Interview;
  /** The warning signs that a listener can report. */
  warningSigns: WarningSigns;
  /** The words in a note that may name one of them. */
  warningWords: WarningWords;
  /** The rules for when the next step of an exercise may be advised. */
  progression: Progression;
  /** The measures. */
  measures: Measures;
  /** The sentences spoken outside a session. */
  prompts: Prompts;
  /** The texts of printed documents. */
  papers: PaperTexts;
};

/**
 * Opens the workshop with the resources that only a clinic needs. Parameters and errors as for {@link openWorkshop}.
 */
export async function openClinicWorkshop(
  settings: Settings,
  encoderTimes?: EncoderTimes,
): Promise<ClinicWorkshop> {
  const workshop = await openWorkshop(settings, encoderTimes);
  const { templatesFolder } = settings;
  const cache = workshop.clipCache;
  const warningSigns = await readWarningSigns(templatesFolder, cache);
  return {
    ...workshop,
    interview: await readInterview(templatesFolder, workshop.catalogues, cache),
    warningSigns,
    warningWords: await readWarningWords(templatesFolder, warningSigns, cache),
    progression: await readProgression(templatesFolder, workshop.catalogues, cache),
    measures: await readMeasures(templatesFolder, cache),
    prompts: await readPrompts(templatesFolder, cache),
    papers: await readPapers(templatesFolder),
  };
}

/**
 * Opens the workshop of a data folder. Clips and segments from earlier runs are reused; the folder can be shared by
 * several processes and may be deleted at any time.
 *
 * @param encoderTimes how long to wait for the encoder; defaults to the usual deadlines
 * @throws StillcountError when the spoken templates cannot be read or are invalid
 */
export async function openWorkshop(settings: Settings, encoderTimes?: EncoderTimes): Promise<Workshop> {
  const cache = new BlobCache(join(settings.dataFolder, 'cache'));
  return {
    catalogues: await readCatalogues(settings.templatesFolder, cache),
    startersFolder: join(settings.templatesFolder, 'en', 'programs'),
    clipCache: cache,
    knownClips: new KnownClips(),
    segments: new SegmentStore(cache, encoderTimes),
  };
}
