import { type Plan, type PromptKey, promptKeys } from '../../listening/plan.js';

/** Returns the address of a spoken sentence, relative to the page's own. */
export function promptAddress(personId: string, key: PromptKey): string {
  return `prompts/${personId}/${key}.mp3`;
}

/** Returns the addresses that the next sessions need to play without a network, the most important first. */
export function buildPrefetchList(plan: Plan): string[] {
  const prompts = plan.people.flatMap(({ id }) => promptKeys.map((key) => promptAddress(id, key)));
  const sessions = plan.people.flatMap((person) => {
    const open = person.sessions.filter(({ state }) => state !== 'done' && state !== 'missed');
    const now = open.filter(({ state }) => state !== 'later');
    const next = open.filter(({ state }) => state === 'later').slice(0, now.length === 0 ? 2 : 1);
    return [...now, ...next];
  });
  // The sound comes first, because resume points are valid only for the sound they were made for.
  const sounds = sessions.flatMap(({ audio, session, words }) => [audio, session, words]);
  // Figures come last, because nobody needs to see anything in order to listen.
  const figures = sessions.flatMap((session) => session.figures ?? []);
  return [...new Set([...prompts, ...sounds, ...figures])];
}
