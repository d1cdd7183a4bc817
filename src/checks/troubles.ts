/** The problems that a running service can have; the owner's home page has a text for each. */
export const troubleKinds = [
  'database-damaged',
  'disk-nearly-full',
  'no-encoder',
  'no-voice',
  'messages-blocked',
  'backup-folder',
  'backup-failed',
  'backup-too-old',
  'no-sound',
  'zones-left',
  'zones-older',
] as const;
export type TroubleKind = (typeof troubleKinds)[number];

export type Trouble = {
  kind: TroubleKind;
  /** When it began, epoch milliseconds. */
  sinceMs: number;
  /** The cause in plain words, without names, addresses or secrets; null when none is known. */
  cause: string | null;
};

/** The current problems. They live in memory: a problem that persists is detected again after a restart. */
export class Troubles {
  readonly #open = new Map<TroubleKind, Trouble>();
  readonly #now: () => number;

  /** @param now the clock, epoch milliseconds */
  constructor(now: () => number) {
    this.#now = now;
  }

  /** Records a problem. If it is already recorded, it keeps its start time and takes the new cause. */
  begin(kind: TroubleKind, cause: string | null): void {
    this.#open.set(kind, { kind, sinceMs: this.#open.get(kind)?.sinceMs ?? this.#now(), cause });
  }

  /** Records that a problem is over. */
  end(kind: TroubleKind): void {
    this.#open.delete(kind);
  }

  /** Returns all current problems, in the order of {@link troubleKinds}. */
  all(): Trouble[] {
    return troubleKinds.flatMap((kind) => this.#open.get(kind) ?? []);
  }
}
