/** The fixed times of the script, in one place, each with its reason. Whole milliseconds. */

/**
 * Rule S4: the smallest silence between two spoken cues. With less, they run together for a listener who is hard of
 * hearing.
 */
export const minGapMs = 250;

/** Rule S6: words end this long before their breath phase does. */
export const phaseTailMs = 300;

/** Silence between sentences of talk: slow enough to follow with eyes closed. */
export const sentenceGapMs = 600;

/** Silence before a new exercise begins. */
export const exerciseGapMs = 2_000;

/** Silence at the very start and the very end of a session. */
export const headSilenceMs = 1_000;
export const tailSilenceMs = 2_000;

/** Silence after the last instruction, before the first repetition is announced. */
export const settleMs = 1_200;

/**
 * A chapter or a resume point begins this long before its first cue, or halfway to the previous sound where there is
 * less room.
 */
export const resumeLeadMs = 600;

/**
 * Free starts are rounded to whole MPEG-2 layer III frames (576 samples at 24 kHz, ISO 13818-3), beats to a third of a
 * frame, so that the same words need few different encodings.
 */
export const frameMs = 24;
export const beatGridMs = 8;

/** A rest that grows by less than this is not reported to the clinician. */
export const noticeableRestMs = 100;

/** A breath tone ends this long before the next sound, so that the two can be encoded apart (six frames). */
export const toneGuardMs = 160;

/**
 * Rule S11: limits for the time of a change of position. They are how much longer it is while the words are new, the
 * wait from which it has a soft sound, the wait from which a voice says that there is no hurry, and the longest silence
 * in it. Our choices, so that nobody lies there wondering in silence, and nobody is talked to while moving.
 */
export const newToItTimes = 1.5;
export const accompaniedFromMs = 12_000;
export const comfortFromMs = 15_000;
export const longestOwnTimeSilenceMs = 10_000;

/**
 * In a rest at least this long, the listener also leaves the starting position, such as raised arms: leaving it and
 * taking it up again take about eight seconds. Our choice, no source.
 */
export const leavesPositionFromMs = 12_000;

/**
 * Rule S12: the longest time from the end of an explanation to the first beat. After that the listener may have
 * forgotten it.
 */
export const longestExplainedMs = 10_000;

/** Length of the soft tone that replaces a count where the voice is too slow. */
export const countToneMs = 120;
