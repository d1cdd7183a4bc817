import type { SetUp } from '../../catalogue/setUp.js';
import { describeFigure } from '../../figure/describe.js';
import { figurePanels, type Panel } from '../../figure/figure.js';
import { figureSchema } from '../../figure/spec.js';
import type { FigureWords } from '../../figure/words.js';

const atRest = figureSchema.parse({ view: 'side', poses: [{}] });

/** Draws how a patient lies before the session starts, with the program's head support and knee position. */
export function restingFigure(
  { headSupport, knees }: SetUp,
  words: FigureWords | null,
): { panel: Panel; text: string } | null {
  const support = { headSupport, knees };
  const [panel] = figurePanels(atRest, support);
  if (panel === undefined || words === null) return null;
  return { panel, text: describeFigure(atRest, support, 'right', words)[0] ?? '' };
}
