import { asHtml } from '../../../guide/asHtml.js';
import { type Chapter, chapterOf, readGuide } from '../../../guide/readGuide.js';
import type { HttpResources } from '../../server/resources.js';
import { Routes } from '../../server/routing.js';

/** The guide for who uses and who runs the service; `stillcount guide` prints the same. */
export function helpRoutes(
  service: Pick<HttpResources, 'store' | 'pages' | 'assets' | 'now' | 'https'>,
): Routes {
  // Read when it is asked for, which is seldom.
  const htmlOf = ({ blocks }: Chapter) => asHtml(blocks, (chapter) => `/help/${chapter}`);
  return new Routes(service)
    .member('get', '/help', async () => ({
      kind: 'page',
      page: 'help',
      title: 'Help',
      view: { parts: await readGuide() },
    }))
    .member('get', '/help/whole/guide', async () => {
      const chapters = (await readGuide()).flatMap((part) => part.chapters);
      const view = { chapters: chapters.map((chapter) => ({ html: htmlOf(chapter) })) };
      return { kind: 'page', page: 'help-chapters', title: 'The whole guide', view };
    })
    .member('get', '/help/:chapter', async ({ params }) => {
      const chapter = chapterOf(await readGuide(), params.chapter ?? '');
      const view = { chapters: [{ html: htmlOf(chapter) }] };
      return { kind: 'page', page: 'help-chapters', title: chapter.title, view };
    });
}
