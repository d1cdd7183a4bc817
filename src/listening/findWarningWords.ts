import { distance } from 'fastest-levenshtein';

/**
 * Words that may name a warning sign, as `warning-words.yaml` lists them; the comment at its top explains the syntax.
 */
export type WarningWords = {
  /** Words that are also found when they are misspelled. */
  misspelled: readonly string[];
  /** Real words that are not misspellings of one of these. */
  lookAlikes: readonly string[];
  /** Phrases in which such words mean something else. */
  harmless: readonly string[];
  /** The sign that a note in another script counts as, because no list covers it. */
  otherScripts?: string;
  /** Word groups with the id of the sign that they may name, in the order of the list. */
  groups: readonly { sign: string; words: readonly string[] }[];
};

/** A passage of a note that may name a sign. */
export type FoundWords = {
  sign: string;
  /** The text as written in the note, including a "not" before it. */
  said: string;
  /**
   * Whether "not" or a similar word comes shortly before it. It counts anyway, because only a human reader can tell.
   */
  isNegated: boolean;
};

/** One word of a note, and its position. */
type Token = { word: string; start: number; end: number };
/** The words of a note, and the positions of each listed word. */
type Indexed = {
  /** What the token at each position can be read as: itself, and listed words that it resembles. */
  readings: readonly ReadonlySet<string>[];
  /** Positions by the word read there, ascending. */
  placesOf: ReadonlyMap<string, readonly number[]>;
};
/** Consecutive words, each with its alternatives. */
type Sequence = readonly (readonly string[])[];
type Span = { first: number; last: number };

/** The largest distance between two parts of an entry, in words. */
const nearWords = 6;
/** A "not" this many words before or closer is shown with the passage. */
const negatedWithinWords = 4;
const negations: ReadonlySet<string> = new Set([
  ...['not', 'no', 'never', 'without', 'dont', 'didnt', 'doesnt', 'havent', 'hasnt', 'hadnt', 'isnt'],
  ...['wasnt', 'arent', 'werent', 'none', 'neither', 'nor'],
]);
/** A letter outside the Latin alphabet. */
const anotherScript = /(?!\p{Script=Latin})\p{L}/u;
/** Words that form one word with a following "not". */
const joinedWithNot: Readonly<Record<string, string | undefined>> = {
  can: 'cannot',
  could: 'couldnt',
  do: 'dont',
  will: 'wont',
};
/** Words with at least this many letters may have two of them wrong. */
const leastTwiceMisspelled = 10;

/**
 * Finds the passages of a note that may name a warning sign, sign by sign in the order of the list. The phone and the
 * service both use this function. Each distinct word is compared with the list once, and entries are searched only
 * where their first word occurs, so that no note takes long.
 */
export function findWarningWords(note: string, words: WarningWords): FoundWords[] {
  const tokens = tokensOf(note);
  const asWritten = indexOf(tokens, (word) => [word]);
  const passedOver = new Set<number>();
  for (const entry of words.harmless) {
    for (const { first, last } of spansOf(asWritten, sequenceOf(entry))) {
      for (let at = first; at <= last; at += 1) passedOver.add(at);
    }
  }
  const left = tokens.map((token, at) => (passedOver.has(at) ? { ...token, word: '' } : token));
  const indexed = indexOf(left, readingsBy(words));
  const found = words.groups.flatMap(({ sign, words: entries }) => {
    const spans = entries.flatMap((entry) => entrySpans(indexed, entry));
    return withoutInner(spans).map((span) => foundAt(note, tokens, { sign, ...span }));
  });
  const { otherScripts } = words;
  if (otherScripts === undefined) return found;
  const unread = runsOf(tokens, ({ word }) => anotherScript.test(word));
  return [...found, ...unread.map((span) => foundAt(note, tokens, { sign: otherScripts, ...span }))];
}

/** Returns the runs of adjacent tokens for which the condition holds. */
function runsOf(tokens: readonly Token[], holds: (token: Token) => boolean): Span[] {
  const runs: Span[] = [];
  tokens.forEach((token, at) => {
    if (!holds(token)) return;
    const run = runs[runs.length - 1];
    if (run?.last === at - 1) run.last = at;
    else runs.push({ first: at, last: at });
  });
  return runs;
}

/**
 * Returns a function that lists what a word can be read as: itself and, unless it is a real word in its own right, the
 * words it may be a misspelling of.
 */
function readingsBy({ misspelled, lookAlikes }: WarningWords): (word: string) => string[] {
  const real = new Set(lookAlikes);
  const meantBy = new Map<string, string[]>();
  for (const meant of misspelled) {
    const [initial = ''] = meant;
    meantBy.set(initial, [...(meantBy.get(initial) ?? []), meant]);
  }
  return (word) => {
    const [initial = ''] = word;
    const near = real.has(word) ? [] : (meantBy.get(initial) ?? []);
    return [word, ...near.filter((meant) => isMisspelled(word, meant))];
  };
}

function indexOf(tokens: readonly Token[], read: (word: string) => string[]): Indexed {
  const known = new Map<string, ReadonlySet<string>>();
  const placesOf = new Map<string, number[]>();
  const readings = tokens.map(({ word }, place) => {
    const as = known.get(word) ?? new Set(read(word));
    known.set(word, as);
    for (const each of as) {
      const places = placesOf.get(each);
      if (places === undefined) placesOf.set(each, [place]);
      else places.push(place);
    }
    return as;
  });
  return { readings, placesOf };
}

/** Splits a note into its words, in lower case, without apostrophes and accents. */
function tokensOf(note: string): Token[] {
  const tokens: Token[] = [];
  for (const match of note.matchAll(/[\p{L}\p{M}\p{N}]+(?:['’ʼ`][\p{L}\p{M}]+)*/gu)) {
    const start = match.index ?? 0;
    const word = plain(match[0]);
    const before = tokens[tokens.length - 1];
    const end = start + match[0].length;
    const joined = word === 'not' ? joinedWithNot[before?.word ?? ''] : undefined;
    if (before !== undefined && joined !== undefined) {
      tokens[tokens.length - 1] = { word: joined, start: before.start, end };
    } else tokens.push({ word, start, end });
  }
  return tokens;
}

function plain(text: string): string {
  const bare = text.normalize('NFKD').replace(/[\p{M}'’ʼ`]/gu, '');
  // Three or more of the same letter come from a key that was held down.
  return bare.toLowerCase().replace(/(\p{L})\1{2,}/gu, '$1$1');
}

function sequenceOf(words: string): Sequence {
  return words.split(' ').map((each) => each.split('/'));
}

function entrySpans(indexed: Indexed, entry: string): Span[] {
  const [one = '', other] = entry.split(' + ');
  const ones = spansOf(indexed, sequenceOf(one));
  if (other === undefined || ones.length === 0) return ones;
  return near(ones, spansOf(indexed, sequenceOf(other)));
}

/**
 * Returns spans from a span of one list to one of the other, no further apart than {@link nearWords}. Each list is
 * ascending, with spans of one length.
 */
function near(ones: readonly Span[], others: readonly Span[]): Span[] {
  const found: Span[] = [];
  let from = 0;
  for (const a of ones) {
    // A span too far before this one is also too far before all that follow.
    while (from < others.length && a.first - (others[from]?.last ?? 0) > nearWords) from += 1;
    for (let at = from; at < others.length; at += 1) {
      const b = others[at];
      if (b === undefined || b.first - a.last > nearWords) break;
      const [before, after] = a.first < b.first ? [a, b] : [b, a];
      const apart = after.first - before.last;
      if (apart >= 1 && apart <= nearWords) found.push({ first: before.first, last: after.last });
    }
  }
  return found;
}

/** Returns where the words of a sequence occur in a row, ascending. */
function spansOf({ readings, placesOf }: Indexed, sequence: Sequence): Span[] {
  const [begins = []] = sequence;
  const places = new Set(begins.flatMap((word) => placesOf.get(word) ?? []));
  return [...places]
    .filter((first) =>
      sequence.every((meant, at) => meant.some((word) => readings[first + at]?.has(word) === true)),
    )
    .sort((a, b) => a - b)
    .map((first) => ({ first, last: first + sequence.length - 1 }));
}

/** Returns whether a word is a listed word with a letter or two wrong. */
export function isMisspelled(word: string, meant: string): boolean {
  if (word[0] !== meant[0]) return false;
  const most = meant.length >= leastTwiceMisspelled ? 2 : 1;
  if (Math.abs(word.length - meant.length) > most) return false;
  return distance(word, meant) <= most || isChangedAbout(word, meant, most - 1);
}

/** Returns whether two adjacent letters are swapped, with at most this many other letters wrong. */
function isChangedAbout(word: string, meant: string, most: number): boolean {
  for (let at = 1; at < word.length - 1; at += 1) {
    const swapped = word.slice(0, at) + word[at + 1] + word[at] + word.slice(at + 2);
    if (distance(swapped, meant) <= most) return true;
  }
  return false;
}

/** Returns each passage once, using the widest span that covers it, in order. */
function withoutInner(spans: readonly Span[]): Span[] {
  const widestFirst = [...spans].sort((a, b) => a.first - b.first || b.last - a.last);
  let reached = -1;
  return widestFirst.filter(({ last }) => {
    if (last <= reached) return false;
    reached = last;
    return true;
  });
}

function foundAt(
  note: string,
  tokens: readonly Token[],
  { sign, first, last }: Span & { sign: string },
): FoundWords {
  const earliest = Math.max(0, first - negatedWithinWords);
  let from = first;
  for (let at = first - 1; at >= earliest; at -= 1) {
    if (negations.has(tokens[at]?.word ?? '')) from = at;
  }
  return {
    sign,
    said: note.slice(tokens[from]?.start, tokens[last]?.end).replace(/\s+/g, ' '),
    isNegated: from < first,
  };
}
