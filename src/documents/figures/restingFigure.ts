import type { SetUp } from '../../catalogue/setUp.js';
import { describeFigure } from '../../figure/describe.js';
import { figurePanels, type Panel } from '../../figure/figure.js';
import { figureSchema } from '../../figure/spec.js';
import type { FigureWords } from '../../figure/words.js';

const atRest = figureSchema.parse({ view: 'side', poses: [{}] });

/** How a patient lies before anything begins: on this head support, with the knees as the program says. */
export function restingFigure(
  { headSupport, knees }: SetUp,
  words: FigureWords | null,
): { panel: Panel; text: string } | null {
  const support = { headSupport, knees };
  const [panel] = figurePanels(atRest, support);
  if (panel === undefined || words === null) return null;
  return { panel, text: describeFigure(atRest, support, 'right', words)[0] ?? '' };
}
