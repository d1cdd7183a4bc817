import type { PlaybackResources } from '../../../clinic/listening/notPlayable.js';
import { type HandoutData, makeHandoutData } from '../../../clinic/records/handoutData.js';
import { type HandoutChoices, handout } from '../../../documents/handout.js';
import type { SquareCode } from '../../../documents/pdf/paper.js';
import type { Patient } from '../../../store/people/chart.js';
import { dayInWords } from '../../../text/dates.js';
import type { HttpResources } from '../../server/resources.js';
import type { AuthenticatedRequest, PageReply } from '../../server/routing.js';
import type { Printer } from './printer.js';

/** The secrets of a link, known only to the page that has just shown them. */
export type Secrets = { token: string; code: string };

/**
 * The handout of a program, as a file. Errors as for {@link makeHandoutData}.
 *
 * @param secrets of a link that was given just now; null for a handout without them
 */
export async function handoutFor(
  service: PlaybackResources & Pick<HttpResources, 'store' | 'words'>,
  printer: Printer,
  request: AuthenticatedRequest,
  about: { patient: Patient; prescriptionId: string; choices: HandoutChoices; secrets: Secrets | null },
): Promise<PageReply> {
  const { patient, prescriptionId, choices, secrets } = about;
  const token = secrets?.token ?? null;
  const { link, ...data } = await makeHandoutData(service, request, { patient, prescriptionId, token });
  const access = link === null || secrets === null ? null : await accessView(request, secrets, link);
  return printer.pdf(handout(printer.texts, { ...data, ...choices, access }), 'handout');
}

async function accessView(
  { origin, clinician }: AuthenticatedRequest,
  { token, code }: Secrets,
  link: NonNullable<HandoutData['link']>,
) {
  return {
    square: await squareCode(`${origin}/l/${token}/`),
    code,
    typedAt: `${origin}/l`,
    until: dayInWords(link.expiresAtMs, clinician.clinicZone),
    hasPin: link.hasPin,
  };
}

/** Level M survives a crease in the paper (ISO/IEC 18004: 15 %). */
async function squareCode(address: string): Promise<SquareCode> {
  const { default: qrcode } = await import('qrcode');
  const { modules } = qrcode.create(address, { errorCorrectionLevel: 'M' });
  return { size: modules.size, isDark: (row, column) => modules.get(row, column) === 1 };
}
