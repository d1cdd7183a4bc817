import { causeOf, describeError } from '../../errors/cause.js';
import type { Log } from '../../log/log.js';
import { currentRequestId, newRequestId } from '../../log/requestId.js';
import { type Incident, noteIncidents } from '../../store/engine/incidents.js';
import type { Store } from '../../store/engine/openStore.js';
import type { IncidentCode } from '../../store/schema/schema.js';

/** A failure, with what is needed to find it again. */
export type Failed = {
  code: IncidentCode;
  /** The error thrown, or its cause in a word. */
  error: unknown;
  /** A word for the work it was part of. */
  what?: string;
  /** If it is not the request being answered. */
  requestId?: string | null;
  /** The id of a row, which reveals nothing about the patient. */
  patientId?: string | null;
};

/** When to retry what cannot be recorded now. */
const againMs = 30_000;
const soonMs = 500;
/** What waits to be recorded; there are few kinds and causes. */
const mostWaiting = 100;

export type IncidentParts = {
  store: Store;
  log: Log;
  /** Epoch milliseconds. */
  now: () => number;
};

/**
 * Failures while the service runs: logged at once, one line each, and stored by kind and cause for the owner's home
 * page. Both have the same reference: the id of the request, or a new one for other work. No request waits for the
 * storing, and it never fails: a failing database is itself among the causes.
 */
export class Incidents {
  readonly #parts: IncidentParts;
  readonly #waiting = new Map<string, Incident>();
  #timer: NodeJS.Timeout | null = null;
  #writing: Promise<void> = Promise.resolve();

  constructor(parts: IncidentParts) {
    this.#parts = parts;
  }

  /** Logs a failure and remembers it. */
  report({ code, error, what, requestId, patientId = null }: Failed): void {
    const { log, now } = this.#parts;
    const reason = causeOf(error);
    const cause = what === undefined ? reason : `${what}: ${reason}`;
    const reference = requestId ?? currentRequestId() ?? newRequestId();
    log({
      event: 'incident',
      code,
      cause,
      request: reference,
      ...(patientId === null ? {} : { patient: patientId }),
      ...(error instanceof Error ? { error: describeError(error) } : {}),
    });
    const atMs = now();
    this.#add({ code, cause, times: 1, firstAtMs: atMs, lastAtMs: atMs, requestId: reference });
    this.#writeIn(soonMs);
  }

  /** Resolves when everything reported has been recorded, or could not be. */
  flush(): Promise<void> {
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
    this.#writing = this.#writing.then(() => this.#write());
    return this.#writing;
  }

  async #write(): Promise<void> {
    const incidents = [...this.#waiting.values()];
    if (incidents.length === 0) return;
    this.#waiting.clear();
    try {
      const { store, now } = this.#parts;
      await store.write((db) => noteIncidents(db, incidents, now()));
    } catch {
      for (const incident of incidents) this.#add(incident);
      this.#writeIn(againMs);
    }
  }

  #writeIn(ms: number): void {
    this.#timer ??= setTimeout(() => void this.flush(), ms).unref();
  }

  #add(incident: Incident): void {
    const key = JSON.stringify([incident.code, incident.cause]);
    const known = this.#waiting.get(key);
    if (known === undefined && this.#waiting.size >= mostWaiting) return;
    const newer = known === undefined || incident.lastAtMs >= known.lastAtMs ? incident : known;
    this.#waiting.set(key, {
      ...newer,
      times: incident.times + (known?.times ?? 0),
      firstAtMs: Math.min(incident.firstAtMs, known?.firstAtMs ?? incident.firstAtMs),
    });
  }
}
