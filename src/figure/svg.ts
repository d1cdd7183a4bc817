import { number, type Role, type Shape } from './shape.js';

/** One color for each role. The contrast of what has to be seen is at least 3 to 1 on the paper (WCAG 2.2, 1.4.11). */
export type Palette = Readonly<Record<Role | 'paper' | 'edge', string>>;

export const onPaper: Palette = {
  paper: '#ffffff',
  edge: '#6f7a88',
  near: '#2f3e55',
  far: '#c3cad3',
  trunk: '#5d6d82',
  skin: '#8f9caa',
  hair: '#d9dee4',
  bed: '#e6ddcd',
  prop: '#cbb994',
  floor: '#8a8f96',
  movement: '#c2410c',
  force: '#c2410c',
  watch: '#c2410c',
};

export type Frame = { left: number; top: number; width: number; height: number };

const edged = new Set<Role>(['far', 'hair', 'prop', 'bed']);

export function svgOf(
  shapes: readonly Shape[],
  { left, top, width, height }: Frame,
  alternative: string,
  palette: Palette,
): string {
  const drawn = shapes.map((shape) => drawnAs(shape, palette)).join('');
  const box = [left, top, width, height].map(number).join(' ');
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="${box}" role="img" aria-label="${alternative}">${drawn}</svg>`;
}

function drawnAs({ role, d, lineCm, hasHalo = false, dashed = false }: Shape, palette: Palette): string {
  const color = palette[role];
  if (lineCm !== undefined) {
    const stroked = (stroke: string, width: number) =>
      `<path d="${d}" fill="none" stroke="${stroke}" stroke-width="${number(width)}" stroke-linecap="round" stroke-linejoin="round"${dashed ? ' stroke-dasharray="16 16"' : ''}/>`;
    return `${hasHalo ? stroked(palette.paper, lineCm + 1.4) : ''}${stroked(color, lineCm)}`;
  }
  const halo = hasHalo
    ? `<path d="${d}" fill="none" stroke="${palette.paper}" stroke-width="16" stroke-linejoin="round"/>`
    : '';
  const edge = edged.has(role)
    ? `<path d="${d}" fill="none" stroke="${palette.edge}" stroke-width="10" stroke-linejoin="round"/>`
    : '';
  return `${halo}${edge}<path d="${d}" fill="${color}"/>`;
}
