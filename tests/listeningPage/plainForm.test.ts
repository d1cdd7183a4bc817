import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { plainReport } from '../../src/http/listening/plainForm.js';
import { reportItemSchema } from '../../src/listening/report.js';

const nowMs = Date.UTC(2026, 10, 25, 9);
const place = {
  formId: randomUUID(),
  patientId: randomUUID(),
  prescriptionId: randomUUID(),
  versionNumber: '2',
  sessionNumber: '7',
  slot: '2026-11-25#1',
};
const signs = ['chest-pain', 'faint', 'heart-racing', 'something-else'];
const scale = fc.constantFrom('', ...Array.from({ length: 11 }, (_, number) => String(number)));
/** What a browser can send of the form. */
const forms = fc.record({
  what: fc.constantFrom('warning', 'check-in'),
  sign: fc.oneof(fc.constantFrom(...signs), fc.subarray(signs)),
  done: fc.constantFrom('', 'all', 'most', 'some', 'none'),
  painBefore: scale,
  painAfter: scale,
  effort: scale,
  note: fc.string({ maxLength: 2_000, unit: 'grapheme' }),
});
const tell = (fields: Record<string, string | readonly string[]>, atMs = nowMs) =>
  plainReport({ ...place, ...fields }, atMs).items;

describe('the form that needs no script', () => {
  it('tells what a phone would: every item is one that the service takes', () => {
    fc.assert(
      fc.property(forms, (form) => {
        for (const item of tell(form)) expect(reportItemSchema.safeParse(item).error).toBeUndefined();
      }),
    );
  });

  it('keeps a note of many short lines to its end, though a browser sends two characters for each', () => {
    // HTML, "maxlength": a line end counts as one character; form submission sends CR LF for it.
    const note = `${'ok\n'.repeat(600)}my chest hurts`;
    const [item] = tell({ what: 'check-in', note: note.replaceAll('\n', '\r\n') });
    expect(item?.kind === 'check-in' && item.answers.note).toBe(note);
  });

  it('loses nothing that was ticked or written, whichever button was pressed', () => {
    fc.assert(
      fc.property(forms, (form) => {
        const items = tell(form);
        const ticked = [form.sign].flat();
        const told = items.flatMap((item) => {
          if (item.kind === 'warning') return item.signs;
          return item.kind === 'check-in' ? (item.answers.signs ?? []) : [];
        });
        expect(told).toEqual(ticked);
        if (form.what === 'warning') expect(items[0]?.kind).toBe('warning');
        const answers = items.flatMap((item) => (item.kind === 'check-in' ? [item.answers] : []))[0];
        const isAnswered = [form.done, form.painBefore, form.painAfter, form.effort, form.note.trim()];
        if (isAnswered.some((answer) => answer !== '')) {
          const number = (text: string) => (text === '' ? null : Number(text));
          expect(answers).toMatchObject({
            done: form.done === '' ? null : form.done,
            painBefore: number(form.painBefore),
            painAfter: number(form.painAfter),
            effort: number(form.effort),
            note: form.note.trim() === '' ? null : form.note.trim(),
          });
        }
      }),
    );
  });

  it('is one report when it is sent twice, and another when anything else was told, or later', () => {
    fc.assert(
      fc.property(forms, forms, fc.integer({ min: 0, max: 599_999 }), (one, other, laterMs) => {
        const ids = (items: readonly { id: string }[]) => items.map(({ id }) => id);
        expect(ids(tell(one, nowMs + laterMs))).toEqual(ids(tell(one)));
        const later = ids(tell(one, nowMs + 600_000));
        expect(later.some((id) => ids(tell(one)).includes(id))).toBe(false);
        if (JSON.stringify(one) === JSON.stringify(other)) return;
        expect(ids(tell(other)).some((id) => ids(tell(one)).includes(id))).toBe(false);
      }),
    );
  });

  it('warns where nobody can say which button was pressed', () => {
    expect(tell({}).map(({ kind }) => kind)).toEqual(['warning']);
  });
});
