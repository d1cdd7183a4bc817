import type { PlannedSession } from '../../listening/plan.js';
import { startTimeout } from './timeout.js';

/** The figures of a session, out of their page; whoever shows some of them takes a copy. */
export type SessionFigures = {
  /** How the patient lies. */
  lying: HTMLElement;
  /** Every exercise by itself, each in an element that names its chapter. */
  each: HTMLElement;
};

const patienceMs = 20_000;

/** What is drawn of sessions: fetched when it is to be looked at, and then remembered. Nothing needs it to be heard. */
export class Figures {
  readonly #known = new Map<string, SessionFigures>();
  /** Whether figures move; still from the beginning where less motion is asked for. */
  areMoving = !matchMedia('(prefers-reduced-motion: reduce)').matches;

  /** Null where there are none, or where they cannot be had now. */
  async of({ figures: address }: PlannedSession): Promise<SessionFigures | null> {
    if (address === undefined) return null;
    const known = this.#known.get(address);
    if (known !== undefined) return known;
    const { signal, end } = startTimeout(patienceMs);
    try {
      const response = await fetch(address, { signal });
      if (!response.ok) return null;
      const found = readFigures(await response.text());
      if (found !== null) this.#known.set(address, found);
      return found;
    } catch {
      return null;
    } finally {
      end();
    }
  }
}

function readFigures(page: string): SessionFigures | null {
  const parsed = new DOMParser().parseFromString(page, 'text/html');
  const lying = parsed.querySelector<HTMLElement>('[data-lie]');
  const each = parsed.querySelector<HTMLElement>('[data-each]');
  return lying === null || each === null ? null : { lying, each };
}

/** What is drawn of one chapter; null where it is no exercise, or another one than the session names there. */
export function figuresOfChapter(
  { each }: SessionFigures,
  chapter: { index: number; title: string },
): HTMLElement | null {
  const found = each.querySelector<HTMLElement>(`[data-chapter="${chapter.index}"]`);
  // A picture of another exercise than is heard would be worse than none.
  return found?.dataset.name === chapter.title ? found : null;
}
