import { asHtml } from '../../../guide/asHtml.js';
import { type Chapter, chapterOf, readGuide } from '../../../guide/readGuide.js';
import type { PageResources } from '../../server/routing.js';
import { Routes } from '../../server/routing.js';

/** The guide for users and administrators; `stillcount guide` prints the same. */
export function helpRoutes(service: PageResources): Routes {
  // Read on demand, which is rare.
  const htmlOf = ({ blocks }: Chapter) => asHtml(blocks, (chapter) => `/help/${chapter}`);
  return new Routes(service)
    .authenticatedRoute('get', '/help', async () => ({
      kind: 'page',
      page: 'help',
      view: { parts: await readGuide() },
    }))
    .authenticatedRoute('get', '/help/whole/guide', async () => {
      const chapters = (await readGuide()).flatMap((part) => part.chapters);
      const view = { title: 'Whole guide', chapters: chapters.map((chapter) => ({ html: htmlOf(chapter) })) };
      return { kind: 'page', page: 'help-chapters', view };
    })
    .authenticatedRoute('get', '/help/:chapter', async ({ params }) => {
      const chapter = chapterOf(await readGuide(), params.chapter ?? '');
      const view = { title: chapter.title, chapters: [{ html: htmlOf(chapter) }] };
      return { kind: 'page', page: 'help-chapters', view };
    });
}
