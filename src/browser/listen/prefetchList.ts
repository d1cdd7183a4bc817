import { type Plan, type PromptKey, promptKeys } from '../../listening/plan.js';

export function promptAddress(personId: string, key: PromptKey): string {
  return `prompts/${personId}/${key}.mp3`;
}

/** What has to be here for the next sessions to play without a network, the most needed first. */
export function buildPrefetchList(plan: Plan): string[] {
  const prompts = plan.people.flatMap(({ id }) => promptKeys.map((key) => promptAddress(id, key)));
  const sessions = plan.people.flatMap((person) => {
    const open = person.sessions.filter(({ state }) => state !== 'done' && state !== 'missed');
    const now = open.filter(({ state }) => state !== 'later');
    const next = open.filter(({ state }) => state === 'later').slice(0, now.length === 0 ? 2 : 1);
    return [...now, ...next];
  });
  // The sound first: a list of resume points is only good for the sound that it was made for.
  const sounds = sessions.flatMap(({ audio, session, words }) => [audio, session, words]);
  // Nobody needs to look at anything in order to listen.
  const figures = sessions.flatMap((session) => session.figures ?? []);
  return [...new Set([...prompts, ...sounds, ...figures])];
}
