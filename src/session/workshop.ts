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

/** What making sessions needs and shares: the words, and everything made so far. */
export type Workshop = {
  catalogues: ReadonlyMap<string, Catalogue>;
  /** Folder of the starter programs. */
  startersFolder: string;
  clipCache: BlobCache;
  knownClips: KnownClips;
  segments: SegmentStore;
};

/** The same for a clinic: those who prescribe, and their listeners. */
export type ClinicWorkshop = Workshop & {
  /** What a person is asked before a program, and the rules that follow. */
  interview: Interview;
  /** What a listener may report. */
  warningSigns: WarningSigns;
  /** What in a note may name one of them. */
  warningWords: WarningWords;
  /** When a next step of an exercise may be advised. */
  progression: Progression;
  /** What can be measured. */
  measures: Measures;
  /** What is said outside a session. */
  prompts: Prompts;
  /** The words of what is printed. */
  papers: PaperTexts;
};

/** Opens the workshop with what only a clinic needs. Parameters and errors as for {@link openWorkshop}. */
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
 * Opens the workshop of a data folder. Clips and segments made by earlier runs are used again; the folder may
 * be shared by several processes and may be deleted at any time.
 *
 * @param encoderTimes how long the encoder is waited for; as usual when left out
 * @throws StillcountError when the spoken templates cannot be read or are wrong
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
