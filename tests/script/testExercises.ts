import type { Catalogue } from '../../src/catalogue/catalogue.js';
import type { Path } from '../../src/catalogue/posture.js';
import type { Exercise } from '../../src/catalogue/schema.js';
import { type Line, lineSchema } from '../../src/catalogue/wording.js';

/** Exercises that nobody would prescribe, for every posture and every kind of change that the layout must lead. */

type Change = {
  like: string;
  path: Path;
  sidedness?: Exercise['sidedness'];
  wording?: Partial<Pick<Exercise['wording'], 'setUp' | 'explain' | 'clearUp' | 'changeSides'>>;
};

const line = (value: unknown): Line => lineSchema.parse(value);

const placing = line({ say: 'Lay the roll under your {{side}} knee.', takes: 'placing' });
const takingAway = line({ say: 'Take the roll away.', takes: 'placing' });

const made: Readonly<Record<string, Change>> = {
  'test-roll-under-knee': {
    like: 'thigh-press',
    path: { from: { position: 'supine', legs: ['one-bent'] } },
    wording: {
      setUp: [line({ say: 'Have the roll ready.', takes: 'placing' })],
      clearUp: [takingAway],
      changeSides: [line({ say: 'Move the roll, and change to your {{side}} leg.', takes: 'placing' })],
    },
  },
  'test-one-leg-hold': { like: 'thigh-press', path: { from: { position: 'supine', legs: ['one-bent'] } } },
  'test-one-leg-breath': { like: 'arm-reach', path: { from: { position: 'supine', legs: ['one-bent'] } } },
  'test-one-leg-rest': {
    like: 'rest-arms-open',
    path: { from: { position: 'supine', legs: ['one-bent', 'bent'] } },
    sidedness: 'one-side',
  },
  'test-legs-straight': {
    like: 'head-press',
    path: { from: { position: 'supine', legs: ['straight'] } },
    wording: {
      explain: [
        line({ say: 'When I say press, you will press your head back, only a little.' }),
        line({ say: 'You will then count with me, and breathe all the time.', pauseAfterSeconds: 9 }),
      ],
    },
  },
  'test-pillow': {
    like: 'pelvic-floor',
    path: { from: { position: 'supine', legs: ['over-pillow'] } },
    wording: { explain: [line({ say: 'You will do this softly.' })] },
  },
  'test-any-legs': {
    like: 'heel-press',
    path: { from: { position: 'supine' } },
    wording: { setUp: [placing], clearUp: [takingAway] },
  },
  'test-on-the-side': { like: 'head-press', path: { from: { position: 'side-lying', legs: ['bent'] } } },
  'test-on-either-side': {
    like: 'bent-knee-fall-out',
    path: { from: { position: 'side-lying' } },
    wording: { changeSides: [line({ say: 'Roll to your other side.', takes: 'rolling' })] },
  },
  'test-ends-on-the-side': {
    like: 'quiet-breathing',
    path: { from: { position: 'supine', legs: ['bent'] }, to: { position: 'side-lying' } },
  },
  'test-on-the-edge': { like: 'hand-pumps', path: { from: { position: 'sitting-on-edge' } } },
  'test-standing': { like: 'hand-pumps', path: { from: { position: 'standing' } } },
};

/** The catalogue with the test's own exercises added. */
export function withTestExercises(catalogue: Catalogue): Catalogue {
  const exercises = new Map(catalogue.exercises);
  for (const [id, { like, path, sidedness, wording }] of Object.entries(made)) {
    const model = catalogue.exercises.get(like);
    if (model === undefined) throw new RangeError(`there is no exercise ${like} to build ${id} from`);
    const worded = reworded(model, wording);
    exercises.set(id, { ...worded, id, path, sidedness: sidedness ?? model.sidedness });
  }
  return { ...catalogue, exercises };
}

/** Each timing shape has words of its own, which stay. */
function reworded(model: Exercise, wording: Change['wording']): Exercise {
  switch (model.timing) {
    case 'sustained':
      return { ...model, wording: { ...model.wording, ...wording } };
    case 'hold':
      return { ...model, wording: { ...model.wording, ...wording } };
    case 'breath':
      return { ...model, wording: { ...model.wording, ...wording } };
    case 'tempo':
      return { ...model, wording: { ...model.wording, ...wording } };
    case 'talk':
      return { ...model, wording: { ...model.wording, ...wording } };
  }
}
