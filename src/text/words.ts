import { fileURLToPath } from 'node:url';
import { z } from 'zod';
import { bodyPositionSchema, loadTagSchema, purposeSchema } from '../catalogue/wording.js';
import { troubleKinds } from '../checks/troubles.js';
import { fhirWordsSchema } from '../documents/fhir/words.js';
import { reportingItems } from '../documents/programDescription.js';
import { lanes } from '../documents/strip.js';
import type { BlobCache } from '../files/blobCache.js';
import { adviceKinds, adviceReasons, conditionIds, painChanges } from '../followup/adviceParts.js';
import { amountsDone, easierChoices, notTodayReasons } from '../listening/report.js';
import { weekdays } from '../prescription/content.js';
import { changeTimesSchema, sideChoiceSchema } from '../program/schema.js';
import { sendingFailureReasons } from '../reminders/choice.js';
import { stillKinds } from '../reminders/runner.js';
import { scheduleWordsSchema } from '../schedule/inWords.js';
import { unsentReasons } from '../schedule/sending.js';
import { answerKinds } from '../screening/answers.js';
import { measures } from '../screening/interview.js';
import { readHouseText } from '../session/readHouseText.js';
import { countedTables } from '../store/records/record.js';
import { roles } from '../store/schema/accountsSchema.js';
import { adviceAnswers } from '../store/schema/followUpSchema.js';
import { attentionKinds, consentKinds, erasureReasons } from '../store/schema/peopleSchema.js';
import { prescriptionStates } from '../store/schema/prescribingSchema.js';
import {
  breakKinds,
  type ContactEnd,
  channelNames,
  deliveryKinds,
  deliveryStates,
} from '../store/schema/reminderSchema.js';
import { incidentCodes } from '../store/schema/schema.js';
import { parseHouseYaml } from '../yaml/parseYaml.js';
import { zoneSources } from '../zones/zoneData.js';
import { browserNames, systemNames } from './device.js';
import { followUpWordsSchema } from './followUpWords.js';
import { measuringWordsSchema } from './measuringWords.js';
import { pageTitlesSchema } from './pageTitles.js';
import { type RefusalWords, refusalWordsSchema } from './refusalWords.js';

/** Next to this file's source, even when it runs compiled from `dist`. */
const wordsFile = fileURLToPath(new URL('../../src/text/words.yaml', import.meta.url));
const refusalsFile = fileURLToPath(new URL('../../src/text/refusals.yaml', import.meta.url));

/** The ways a contact can end. */
const contactEnds = [
  'replaced',
  'unsubscribed',
  'removed',
  'gone',
  'bounced',
] as const satisfies ContactEnd[];

const word = z.string().min(1);
const wordsByKey = z.record(z.string(), word);

const wordsSchema = z.strictObject({
  roles: z.record(z.enum(roles), word),
  prescriptionStates: z.record(z.enum(prescriptionStates), word),
  stateSteps: z.record(z.enum(prescriptionStates), word),
  actions: wordsByKey,
  titles: pageTitlesSchema,
  browsers: z.record(z.enum(browserNames), word),
  systems: z.record(z.enum(systemNames), word),
  details: wordsByKey,
  doses: wordsByKey,
  weekdays: z.record(z.enum(weekdays), word),
  weekdaysShort: z.record(z.enum(weekdays), word),
  timetable: z.strictObject({
    timesADay: word,
    daysAWeek: word,
    timesOfDay: word,
    weekdayTimes: word,
    startsOn: word,
    endsOn: word,
    reviewOn: word,
  }),
  schedule: scheduleWordsSchema,
  easier: z.strictObject({
    fields: z.strictObject({ shorterMinutes: word, lighter: word }),
    sessions: z.record(z.enum(easierChoices), word),
  }),
  changeTimes: z.record(changeTimesSchema.keyof(), word),
  sides: z.record(sideChoiceSchema, word),
  lanes: z.record(z.enum(lanes), word),
  purposes: z.record(purposeSchema, word),
  positions: z.record(bodyPositionSchema, word),
  loads: z.record(loadTagSchema, word),
  measures: z.record(z.enum(measures), word),
  answers: z.record(z.enum(answerKinds), word),
  attention: z.record(z.enum(attentionKinds), z.strictObject({ why: word, does: word })),
  consents: z.record(z.enum(consentKinds), word),
  lyingDownAndGettingUp: word,
  unchosenSide: word,
  amountsDone: z.record(z.enum(amountsDone), word),
  notToday: z.record(z.enum(notTodayReasons), word),
  /** When a clinic reads notes, if it has not said so itself. */
  usualNotesReading: word,
  skippedAnswer: word,
  notAsked: word,
  noSigns: word,
  unnamedSign: word,
  someSigns: word,
  formerCaregiver: word,
  channels: z.record(z.enum(channelNames), word),
  deliveryKinds: z.record(z.enum(deliveryKinds), word),
  deliveryStates: z.record(z.enum(deliveryStates), word),
  unsent: z.record(z.enum(unsentReasons), word),
  /** A channel may return codes that have no text here yet. */
  channelFailureReasons: wordsByKey,
  sendingFailureReasons: z.record(z.enum(sendingFailureReasons), word),
  unknownFailureReason: word,
  standsStill: z.record(z.enum(stillKinds), word),
  contactEnds: z.record(z.enum(contactEnds), word),
  breakKinds: z.record(z.enum(breakKinds), word),
  reminderFields: wordsByKey,
  advice: z.strictObject({
    kinds: z.record(z.enum(adviceKinds), word),
    reasons: z.record(z.enum(adviceReasons), word),
    conditions: z.record(z.enum(conditionIds), word),
    answers: z.record(z.enum(adviceAnswers), word),
    painCourses: z.record(z.enum(painChanges), word),
    wholeProgram: word,
    picture: z.strictObject({
      ...{ title: word, about: word, pain: word, effort: word, band: word, since: word, nothing: word },
    }),
    reasonUp: word,
    reasonDown: word,
  }),
  record: z.strictObject({
    fhir: fhirWordsSchema,
    reasons: z.record(z.enum(erasureReasons), word),
    fields: wordsByKey,
    kinds: z.record(z.enum(countedTables), word),
  }),
  measuring: measuringWordsSchema,
  followUp: followUpWordsSchema,
  papers: z.strictObject({ fields: wordsByKey, items: z.record(z.enum(reportingItems), word) }),
  /** The heading above the problems with a request. */
  notDone: word,
  zoneSources: z.record(z.enum(zoneSources), word),
  troubles: z.record(z.enum(troubleKinds), z.strictObject({ why: word, does: word })),
  incidents: z.record(z.enum(incidentCodes), z.strictObject({ why: word, does: word })),
  choices: z.record(z.string(), z.strictObject({ label: word, values: wordsByKey })),
});

/** Words that pages show instead of keys. */
export type Words = z.infer<typeof wordsSchema> & { refusals: RefusalWords };

/**
 * Reads the words once.
 *
 * @param cache as for {@link readHouseText}
 * @throws StillcountError when a key has no text
 */
export async function openWords(cache: BlobCache | null = null): Promise<Words> {
  const [words, refusals] = await Promise.all([
    readHouseText(wordsFile, cache),
    readHouseText(refusalsFile, cache),
  ]);
  return {
    ...parseHouseYaml(words, wordsFile, wordsSchema),
    refusals: parseHouseYaml(refusals, refusalsFile, refusalWordsSchema),
  };
}
