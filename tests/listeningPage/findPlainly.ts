import { type FoundWords, isMisspelled, type WarningWords } from '../../src/listening/findWarningWords.js';

/** One word of a note, and where it stands there. */
type Token = { word: string; start: number; end: number };
/** Words one after the other, each with those that may stand in its place. */
type Sequence = readonly (readonly string[])[];
type Span = { first: number; last: number };

/** Two parts of an entry lie no further apart, in words. */
const nearWords = 6;
/** A "not" so many words before is shown as meant. */
const negatedWithinWords = 4;
const negations: ReadonlySet<string> = new Set([
  ...['not', 'no', 'never', 'without', 'dont', 'didnt', 'doesnt', 'havent', 'hasnt', 'hadnt', 'isnt'],
  ...['wasnt', 'arent', 'werent', 'none', 'neither', 'nor'],
]);

const joinedWithNot: Readonly<Record<string, string | undefined>> = {
  can: 'cannot',
  could: 'couldnt',
  do: 'dont',
  will: 'wont',
};

/** What `findWarningWords` finds in a note of Latin letters, by holding every word of a note against every word of every entry. */
export function findPlainly(
  note: string,
  { misspelled, lookAlikes, harmless, groups }: WarningWords,
): FoundWords[] {
  const tokens = tokensOf(note);
  const [spelledWrong, real] = [new Set(misspelled), new Set(lookAlikes)];
  const isWord = (token: Token | undefined, meant: readonly string[]) =>
    token !== undefined &&
    (meant.includes(token.word) ||
      (!real.has(token.word) &&
        meant.some((word) => spelledWrong.has(word) && isMisspelled(token.word, word))));
  const passedOver = new Set<number>();
  for (const entry of harmless) {
    for (const { first, last } of spansOf(tokens, sequenceOf(entry), isExactly)) {
      for (let at = first; at <= last; at += 1) passedOver.add(at);
    }
  }
  const left = tokens.map((token, at) => (passedOver.has(at) ? { ...token, word: '' } : token));
  return groups.flatMap(({ sign, words }) => {
    const spans = words.flatMap((entry) => entrySpans(left, entry, isWord));
    return withoutInner(spans).map((span) => foundAt(note, tokens, { sign, ...span }));
  });
}

function isExactly(token: Token | undefined, meant: readonly string[]): boolean {
  return token !== undefined && meant.includes(token.word);
}

/** The words in lower case, without apostrophes and accents. */
function tokensOf(note: string): Token[] {
  const tokens: Token[] = [];
  for (const match of note.matchAll(/[\p{L}\p{M}\p{N}]+(?:['’ʼ`][\p{L}\p{M}]+)*/gu)) {
    const start = match.index ?? 0;
    const word = plain(match[0]);
    const before = tokens[tokens.length - 1];
    const end = start + match[0].length;
    const joined = before === undefined ? undefined : joinedWithNot[before.word];
    if (word === 'not' && before !== undefined && joined !== undefined) {
      tokens[tokens.length - 1] = { word: joined, start: before.start, end };
    } else tokens.push({ word, start, end });
  }
  return tokens;
}

function plain(text: string): string {
  const bare = text.normalize('NFKD').replace(/[\p{M}'’ʼ`]/gu, '');
  // A letter that is held down.
  return bare.toLowerCase().replace(/(\p{L})\1{2,}/gu, '$1$1');
}

function sequenceOf(words: string): Sequence {
  return words.split(' ').map((each) => each.split('/'));
}

type IsWord = (token: Token | undefined, meant: readonly string[]) => boolean;

function entrySpans(tokens: readonly Token[], entry: string, isWord: IsWord): Span[] {
  const [one = '', other] = entry.split(' + ');
  const ones = spansOf(tokens, sequenceOf(one), isWord);
  if (other === undefined || ones.length === 0) return ones;
  const others = spansOf(tokens, sequenceOf(other), isWord);
  return ones.flatMap((a) =>
    others.flatMap((b) => {
      const [before, after] = a.first < b.first ? [a, b] : [b, a];
      const apart = after.first - before.last;
      return apart >= 1 && apart <= nearWords ? [{ first: before.first, last: after.last }] : [];
    }),
  );
}

function spansOf(tokens: readonly Token[], sequence: Sequence, isWord: IsWord): Span[] {
  return tokens.flatMap((_, first) =>
    sequence.every((meant, place) => isWord(tokens[first + place], meant))
      ? [{ first, last: first + sequence.length - 1 }]
      : [],
  );
}

/** Each place once, the widest that says it. */
function withoutInner(spans: readonly Span[]): Span[] {
  const isInside = (inner: Span, outer: Span) =>
    inner !== outer &&
    outer.first <= inner.first &&
    inner.last <= outer.last &&
    (outer.last - outer.first > inner.last - inner.first || spans.indexOf(outer) < spans.indexOf(inner));
  return spans
    .filter((span) => !spans.some((other) => isInside(span, other)))
    .sort((a, b) => a.first - b.first);
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
