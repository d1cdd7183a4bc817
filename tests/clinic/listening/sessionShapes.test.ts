import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { findPlaybackProblems } from '../../../src/clinic/listening/notPlayable.js';
import { ReadVersions } from '../../../src/clinic/resources/readVersions.js';
import { type SessionLength, SessionLengths } from '../../../src/clinic/resources/sessionLengths.js';
import { inputError } from '../../../src/errors/stillcountError.js';
import { openClinicWorkshop } from '../../../src/session/workshop.js';

const folder = await mkdtemp(join(tmpdir(), 'stillcount-shapes-'));
afterAll(() => rm(folder, { recursive: true, force: true }));
const workshop = await openClinicWorkshop({ dataFolder: folder, templatesFolder: 'audio-templates' });
const versions = new ReadVersions(workshop);

/** Lengths as they are, but that one session has no room for its words. */
class Crowded extends SessionLengths {
  readonly asked: number[] = [];
  readonly #crowded: number | null;

  constructor(crowded: number | null) {
    super();
    this.#crowded = crowded;
  }

  override async recentLength(
    ...[made, program, place]: Parameters<SessionLengths['recentLength']>
  ): Promise<SessionLength> {
    this.asked.push(program.session.number);
    if (program.session.number === this.#crowded) throw inputError({ path: 'exercises', message: 'no room' });
    return super.recentLength(made, program, place);
  }
}

const version = {
  damage: null,
  number: 1,
  content: JSON.stringify({
    format: 'stillcount-prescription/1',
    program: {
      ...{ format: 'stillcount-program/1', title: 'Mornings' },
      exercises: [{ exercise: 'ankle-pumps' }, { exercise: 'quiet-breathing' }],
    },
  }),
};

it('a program is playable only when its first session, the next one and one of the sparest can be laid out', async () => {
  const sound = new Crowded(null);
  expect(await findPlaybackProblems({ versions, workshop, lengths: sound }, 'sound', version)).toEqual([]);
  expect(sound.asked).toEqual([1, 2, 15]);
  for (const crowded of [1, 2, 15]) {
    const lengths = new Crowded(crowded);
    expect(await findPlaybackProblems({ versions, workshop, lengths }, 'crowded', version)).toMatchObject([
      { message: 'no room' },
    ]);
  }
});
