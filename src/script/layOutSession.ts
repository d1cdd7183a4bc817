import type { PrescribedExercise, PrescribedProgram } from '../program/prescribed.js';
import { exerciseContext, sayLines, sessionContext } from './context.js';
import type { Block, Say } from './layout.js';
import { exerciseGapMs, headSilenceMs } from './rules.js';
import { layOutBreath } from './shapes/breath.js';
import { frame } from './shapes/frame.js';
import { layOutHold } from './shapes/hold.js';
import { layOutSustained } from './shapes/sustained.js';
import { layOutTempo } from './shapes/tempo.js';

/**
 * First pass: the whole session as blocks of talk and work, with every wording that might be needed. The
 * opening and the closing with their cautions belong to every session, whatever the program lists.
 *
 * @param brief uses the short form of set-up wording, to meet a time budget
 */
export function layOut(program: PrescribedProgram, brief: boolean): Block[] {
  const { phrases } = program.catalogue;
  const opening = sessionContext(program, brief, 'opening');
  const closing = sessionContext(program, brief, 'closing');
  return [
    {
      title: phrases.titles.opening,
      items: [
        ...startingHere(sayLines(opening, 'instruction', phrases.opening, { key: 'opening' }), headSilenceMs),
        ...sayLines(opening, 'safety', phrases.openingSafety, { key: 'safety' }),
      ],
    },
    ...program.exercises.map((prescribed) => layOutExercise(program, prescribed, brief)),
    {
      title: phrases.titles.closing,
      items: [
        ...startingHere(sayLines(closing, 'finish', phrases.closing, { key: 'closing' }), exerciseGapMs),
        ...sayLines(closing, 'safety', phrases.closingSafety, { key: 'safety' }),
      ],
    },
  ];
}

function layOutExercise(program: PrescribedProgram, prescribed: PrescribedExercise, brief: boolean): Block {
  const context = exerciseContext(program, brief, prescribed);
  switch (prescribed.timing) {
    case 'sustained':
      return layOutSustained(prescribed, context);
    case 'hold':
      return layOutHold(prescribed, context);
    case 'breath':
      return layOutBreath(prescribed, context);
    case 'tempo':
      return layOutTempo(prescribed, context);
    case 'talk':
      return frame(prescribed, context, []);
  }
}

function startingHere(lines: Say[], gapBeforeMs: number): Say[] {
  return lines.map((line, index) => (index === 0 ? { ...line, gapBeforeMs, resumeHere: true } : line));
}

/** Every distinct wording of a layout, in order of first use. */
export function wordingsIn(blocks: readonly Block[]): string[] {
  const texts = blocks
    .flatMap((block) => block.items)
    .flatMap((item) => {
      if (item.item === 'say') return [item.words];
      return [
        ...item.lead.map(({ words }) => words),
        ...item.beats.map(({ words }) => words ?? []),
        ...item.fillers.map(({ words }) => words),
        item.restWords?.words ?? [],
      ];
    })
    .flat();
  return [...new Set(texts.filter((text) => text !== ''))];
}
