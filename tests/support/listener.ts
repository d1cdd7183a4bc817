import { get as httpGet } from 'node:http';
import type { Plan, PlannedSession } from '../../src/listening/plan.js';
import type { StartOptions } from '../../src/service/startContext.js';
import { giveLink, openClinicWithPerson, signShortProgram, type TestClinic, Visitor } from './clinic.js';

export const dayMs = 24 * 60 * 60_000;

/** The id of somebody in the path of their page. */
export const idOf = (path: string) => path.split('/')[2] ?? '';

/** Which session a report is about. */
export const placeOf = (
  { prescriptionId, versionNumber, sessionNumber, slot }: PlannedSession,
  patientId: string,
) => ({ patientId, prescriptionId, versionNumber, sessionNumber, slot });

/** A clinic with one patient, Rosa, who has a short program and a link; and how her phone would ask. */
export class ListeningClinic {
  readonly clinic: TestClinic;
  readonly ada: Visitor;
  readonly rosaPath: string;
  readonly programPath: string;
  /** The link that works now. */
  rosaLink: string;

  private constructor(
    clinic: TestClinic,
    ada: Visitor,
    paths: { rosa: string; program: string; link: string },
  ) {
    this.clinic = clinic;
    this.ada = ada;
    this.rosaPath = paths.rosa;
    this.programPath = paths.program;
    this.rosaLink = paths.link;
  }

  /**
   * @param program further fields of what is prescribed
   * @param options how the service is started
   */
  static async open(
    program: Record<string, string> = {},
    options: StartOptions = {},
  ): Promise<ListeningClinic> {
    const { clinic, ada, patientPath: rosa } = await openClinicWithPerson({}, options);
    const signed = await signShortProgram(ada, rosa, program);
    const { path: link } = await giveLink(ada, rosa);
    return new ListeningClinic(clinic, ada, { rosa, program: signed, link });
  }

  /** Somebody without a sign-in. */
  guest(): Visitor {
    return new Visitor(() => this.clinic.service.address);
  }

  async planOf(link: string): Promise<Plan> {
    return JSON.parse(await (await this.guest().get(`${link}plan.json`)).text());
  }

  async firstSession(link: string): Promise<{ plan: Plan; session: PlannedSession }> {
    const plan = await this.planOf(link);
    const session = plan.people[0]?.sessions[0];
    if (session === undefined) throw new Error('nothing is planned');
    return { plan, session };
  }

  report(link: string, items: object[], sentAtMs = Date.now()): Promise<Response> {
    return fetch(new URL(`${link}report`, this.clinic.service.address), {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ sentAtMs, items }),
    });
  }

  /** Asked plainly: `fetch` adds that it wants nothing kept whenever a condition is given. */
  statusOf(path: string, headers: Record<string, string>): Promise<number | undefined> {
    return new Promise((resolve, reject) => {
      const request = httpGet(new URL(path, this.clinic.service.address), { headers }, (response) => {
        response.resume();
        resolve(response.statusCode);
      });
      request.on('error', reject);
    });
  }

  async page(path: string): Promise<string> {
    return (await this.ada.get(path)).text();
  }
}
