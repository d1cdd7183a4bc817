import type { Adaptation } from '../catalogue/adaptation.js';
import { commonNames, templateFault } from '../catalogue/template.js';
import type { Problem } from '../errors/stillcountError.js';

type Adapting = { rules: readonly { adapt?: Adaptation | undefined }[] };

/** Names that a rule's sentence can use: those with a value both before lying down and before every exercise. */
const namesEverywhere: readonly string[] = commonNames.slice(0, commonNames.indexOf('sets'));

/**
 * Checks that the lines a rule leaves out exist, and that its own sentences can be filled in wherever they are said; a
 * tag that no line has would promise a change that nobody hears.
 */
export function adaptationProblems(
  precautions: readonly Adapting[],
  file: string,
  tags: ReadonlySet<string>,
): Problem[] {
  return precautions.flatMap(({ rules }, place) =>
    rules.flatMap(({ adapt }, index): Problem[] => {
      const path = `precautions[${place}].rules[${index}].adapt`;
      const { leaveOut = [], say } = adapt ?? {};
      return [
        ...leaveOut.flatMap((found, at): Problem[] =>
          tags.has(found)
            ? []
            : [
                {
                  ...{ file, path: `${path}.leaveOut[${at}]`, found },
                  message: 'no spoken line has this tag',
                  allowed: [...tags].sort().join(', ') || 'none: no line has a tag',
                },
              ],
        ),
        ...(['full', 'short'] as const).flatMap((form): Problem[] => {
          const found = say?.[form];
          const message = found == null ? null : templateFault(found, namesEverywhere);
          return message === null || found == null
            ? []
            : [{ file, path: `${path}.say.${form}`, message, found, allowed: namesEverywhere.join(', ') }];
        }),
      ];
    }),
  );
}
