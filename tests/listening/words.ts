/** The words of a text as a pronouncing dictionary spells them: lower case, no punctuation. */
export function wordsOf(text: string): string[] {
  return text
    .toLowerCase()
    .replace(/[‘’]/g, "'")
    .replace(/[^\p{L}\p{N}']+/gu, ' ')
    .split(' ')
    .filter((word) => word !== '' && word !== "'");
}

/** A text cut where a speaker stops: at the end of each sentence. */
export function sentencesOf(text: string): string[] {
  return text.split(/[.!?]+/).filter((sentence) => wordsOf(sentence).length > 0);
}
