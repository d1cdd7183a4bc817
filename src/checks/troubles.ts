/** What can be wrong with the running of a service; each has its words on the first page of an owner. */
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
  /** Since when, epoch milliseconds. */
  sinceMs: number;
  /** The cause in plain words, without names, addresses or secrets; null when none is known. */
  cause: string | null;
};

/** What is wrong at this moment. It is kept in the process: what still is wrong is found again after a start. */
export class Troubles {
  readonly #open = new Map<TroubleKind, Trouble>();
  readonly #now: () => number;

  /** @param now the clock, epoch milliseconds */
  constructor(now: () => number) {
    this.#now = now;
  }

  /** Notes that something is wrong, still or again: since when it is stays as it was, its cause is the last one. */
  begin(kind: TroubleKind, cause: string | null): void {
    this.#open.set(kind, { kind, sinceMs: this.#open.get(kind)?.sinceMs ?? this.#now(), cause });
  }

  /** Notes that it is right again. */
  end(kind: TroubleKind): void {
    this.#open.delete(kind);
  }

  /** Everything that is wrong, in the order of {@link troubleKinds}. */
  all(): Trouble[] {
    return troubleKinds.flatMap((kind) => this.#open.get(kind) ?? []);
  }
}
