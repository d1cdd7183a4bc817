import { type Code, directArrows, type Folder, foldersOf, inCircles } from './folderGraph.js';

/** The picture is between these marks in DEVELOPERS.md. */
const begins = '<!-- picture: begins; npm run picture draws it -->';
const ends = '<!-- picture: ends -->';

/** Rooms whose parts are also shown. */
const parted = ['clinic', 'http', 'store'];
const number = new Intl.NumberFormat('en-US');

/** Draws the folders of `src` as a Mermaid graph, and the parts of the largest as tables, in Markdown. */
export function drawPicture(code: Code): string {
  const rooms = foldersOf(code, (file) => partsOf(file)[0] ?? null);
  const inner = foldersOf(code, (file) =>
    partsOf(file).length < 2 ? null : partsOf(file).slice(0, 2).join('/'),
  );
  const arrows = rooms.reduce((sum, { needs }) => sum + needs.length, 0);
  const graph = directArrows(rooms);
  const shown = parted.flatMap((room) => inner.filter(({ name }) => name.startsWith(`${room}/`)));
  return `${rooms.length} rooms, ${arrows} arrows, ${countOf(inCircles(rooms), 'circle')}; an arrow from a room to what it needs is left out where a way over another room leads there too.

\`\`\`mermaid
graph TD
${rooms.map((room) => `  ${room.name}["${room.name}<br>${sizeOf(room)}"]`).join('\n')}
${graph.map(([from, to]) => `  ${from} --> ${to}`).join('\n')}
\`\`\`

The parts of ${parted.join(', ')}, ${countOf(inCircles(inner), 'circle')}:

| part | size | parts of the same room that it needs |
|---|---|---|
${shown.map((part) => `| \`${part.name}\` | ${sizeOf(part)} | ${mates(part)} |`).join('\n')}`;
}

/** Inserts a picture between its marks. */
export function putInto(guide: string, picture: string): string {
  const [from, to] = [guide.indexOf(begins), guide.indexOf(ends)];
  if (from === -1 || to < from)
    throw new Error(`The guide has no place for the picture: ${begins} and ${ends}`);
  return `${guide.slice(0, from)}${begins}\n${picture}\n${guide.slice(to)}`;
}

/** Returns the folders below `src` that contain a file. */
function partsOf(file: string): string[] {
  return file.split('/').slice(1, -1);
}

function sizeOf({ files, lines }: Folder): string {
  return `${files} ${files === 1 ? 'file' : 'files'}, ${number.format(lines)} lines`;
}

function mates({ name, needs }: Folder): string {
  const room = name.slice(0, name.indexOf('/') + 1);
  const found = needs.filter((each) => each.startsWith(room)).map((each) => each.slice(room.length));
  return found.length === 0 ? '' : found.join(', ');
}

function countOf(found: readonly string[], what: string): string {
  return found.length === 0 ? `no ${what}` : `${found.length} of them in a ${what} (${found.join(', ')})`;
}
