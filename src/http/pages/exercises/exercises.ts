import type { Catalogue } from '../../../catalogue/catalogue.js';
import type { Exercise } from '../../../catalogue/schema.js';
import { setUpSchema } from '../../../catalogue/setUp.js';
import { refused } from '../../../clinic/refusals.js';
import {
  catalogueFigure,
  type ExerciseFigure,
  prescribedFigure,
} from '../../../documents/figures/exerciseFigure.js';
import { svgFile } from '../../../documents/figures/svg.js';
import { clinicCatalogue } from '../../../prescription/programFindings.js';
import type { HttpResources } from '../../server/resources.js';
import { type PageResources, Routes } from '../../server/routing.js';
import { exercisesView } from './exercisesView.js';
import { type DrawnFor, drawnForIn } from './poseAddress.js';

/** The catalogue for everyone who is signed in: all exercises with their figures, and each pose as a drawing. */
export function exerciseRoutes(service: PageResources & Pick<HttpResources, 'workshop'>): Routes {
  return new Routes(service)
    .authenticatedRoute('get', '/exercises', async () => ({
      kind: 'page',
      page: 'exercises',
      view: exercisesView(clinicCatalogue(service.workshop), service.words),
    }))
    .authenticatedRoute('get', '/exercises/:id/poses/:number', async ({ params, query }) => {
      const catalogue = clinicCatalogue(service.workshop);
      const exercise = catalogue.exercises.get(params.id ?? '');
      const figure = exercise === undefined ? null : figureFor(exercise, catalogue, drawnForIn(query));
      const pose = figure?.poses[Number(params.number) - 1];
      if (pose === undefined) throw refused('no-such-page');
      return { kind: 'drawing', svg: svgFile(pose.panel, pose.text) };
    });
}

function figureFor(
  exercise: Exercise,
  { figureWords }: Catalogue,
  drawnFor: DrawnFor | null,
): ExerciseFigure | null {
  if (drawnFor === null) return catalogueFigure(exercise, figureWords);
  const { side, ...lying } = drawnFor;
  return prescribedFigure({ exercise, setUp: setUpSchema.parse(lying), side }, figureWords);
}
