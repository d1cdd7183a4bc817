import Mustache from 'mustache';
import { z } from 'zod';

/** Every page of the clinic, by the name of its template. */
export const pageNames = [
  ...['account', 'advice', 'begin', 'clinic-view', 'colleagues', 'erasures', 'exercises', 'follow-up'],
  ...['heard', 'help', 'help-chapters', 'home', 'join', 'link', 'measures', 'message', 'papers', 'patient'],
  ...['patient-form', 'prescribe', 'prescription', 'programs', 'record', 'record-erase', 'records'],
  ...['reminders', 'reset-password', 'screening', 'screening-review', 'sign-in'],
] as const;
export type PageName = (typeof pageNames)[number];

/** The title of each page, a Mustache template over the page's own view. */
export const pageTitlesSchema = z.record(z.enum(pageNames), z.string().min(1));
type PageTitles = z.infer<typeof pageTitlesSchema>;

/** Returns the title of a page as plain text; code that writes it into markup escapes it. */
export function pageTitle(titles: PageTitles, page: PageName, view: object): string {
  return Mustache.render(titles[page], view, {}, { escape: (value: unknown) => String(value) });
}
