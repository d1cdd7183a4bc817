import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Files that take longest: begun last, they would each keep one core busy while the other stands idle. */
const slow = [
  'tests/listening/starters.test.ts',
  'tests/listening/exercises.test.ts',
  'tests/browser/listen/wrong.browser.test.ts',
  'tests/browser/listen/network.browser.test.ts',
  'tests/browser/workbench/clinic.browser.test.ts',
  'tests/browser/workbench/prescribing.browser.test.ts',
  'tests/visit/visit.browser.test.ts',
  'tests/browser/listen/session.browser.test.ts',
  'tests/browser/listen/sound.browser.test.ts',
  'tests/browser/listen/trembling.browser.test.ts',
  'tests/browser/listen/links.browser.test.ts',
  'tests/browser/listen/notes.browser.test.ts',
  'tests/browser/listen/oldPhones.browser.test.ts',
  'tests/browser/workbench/followUp.browser.test.ts',
  'tests/browser/listen/push.browser.test.ts',
  'tests/package/package.test.ts',
  'tests/session/starters.test.ts',
  'tests/cli/stopping.test.ts',
  'tests/clinic/accounts/lockedOut.test.ts',
  'tests/cli/doctor.test.ts',
  'tests/service/kill.test.ts',
  'tests/cli/render.test.ts',
  'tests/recipes/recipes.test.ts',
  'tests/reminders/crash.test.ts',
  'tests/scripts/check.test.ts',
  'tests/voice/contract.test.ts',
  'tests/store/faults.test.ts',
  'tests/voice/clipLibrary.test.ts',
  'tests/clinic/followup/advice.test.ts',
  'tests/store/upgradeFaults.test.ts',
];

/** The usual order, but what takes longest comes first. */
export class SlowFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const sorted = await super.sort(files);
    const rankOf = ({ moduleId }: TestSpecification) => {
      const rank = slow.findIndex((name) => moduleId.endsWith(name));
      return rank === -1 ? slow.length : rank;
    };
    return sorted.toSorted((a, b) => rankOf(a) - rankOf(b));
  }
}
