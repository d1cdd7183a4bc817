/**
 * The rules of the house, checked by dependency-cruiser: which room may know which.
 *
 * The pure rooms (figure, catalogue, screening, program, prescription, script, listening, schedule, documents, followup)
 * hold the rules of the trade and no effects: no files, no processes, no clock, no sound. They know each other one
 * way round only. errors, signal, time and yaml are pure tools that any room may use. Above the rules stand store, then
 * clinic (what can be done), then http (pages and API), then service and cli; each knows what is below it.
 */
const pureRooms = 'figure|catalogue|screening|program|prescription|script|listening|schedule|documents|followup';
const pureTools = 'errors|signal|yaml|time';
const pure = `^src/(${pureRooms}|${pureTools})/`;
const purePackages = 'zod|yaml|mustache|@types/mustache|fastest-levenshtein|temporal-polyfill|xmlbuilder2|csv-stringify|d3-(shape|scale)|@types/d3-(shape|scale)';

/** A rule that keeps one room from knowing some others. */
function unknownTo(room, others, exceptions) {
  return {
    name: `${room}-does-not-know-later-rooms`,
    comment: `${room} takes what earlier rooms made and knows nothing of: ${others.replaceAll('|', ', ')}.`,
    severity: 'error',
    from: { path: `^src/${room}/` },
    to: { path: `^src/(${others})/`, ...(exceptions === undefined ? {} : { pathNot: exceptions }) },
  };
}

module.exports = {
  forbidden: [
    {
      name: 'no-cycle',
      comment: 'Two files that need each other are one file, or miss a third.',
      severity: 'error',
      from: {},
      to: { circular: true },
    },
    {
      name: 'no-cycle-of-folders',
      comment: 'Two folders that need each other are one room, or miss a third.',
      severity: 'error',
      scope: 'folder',
      from: {},
      to: { circular: true },
    },
    {
      name: 'pure-imports-only-pure',
      comment: 'A rule of the trade must be testable without a disk, a voice or an encoder.',
      severity: 'error',
      from: { path: pure },
      to: { path: '^src/', pathNot: pure },
    },
    {
      name: 'pure-imports-no-node-module',
      severity: 'error',
      from: { path: pure },
      to: { dependencyTypes: ['core'] },
    },
    {
      name: 'pure-imports-only-pure-packages',
      severity: 'error',
      from: { path: pure, pathNot: '^src/documents/pdf/' },
      to: { path: 'node_modules/', pathNot: `node_modules/(${purePackages})/` },
    },
    {
      name: 'only-pdf-writes-pdf',
      comment: 'What sets type and writes PDF in memory stays behind one folder.',
      severity: 'error',
      from: { path: '^src/documents/pdf/' },
      to: {
        path: 'node_modules/',
        pathNot: `node_modules/(${purePackages}|pdfkit|@types/pdfkit|fontkit|bidi-js)/`,
      },
    },
    {
      name: 'pure-tools-know-no-room',
      severity: 'error',
      from: { path: `^src/(${pureTools})/` },
      to: { path: '^src/', pathNot: `^src/(${pureTools})/` },
    },
    unknownTo('figure', 'catalogue|screening|program|prescription|script|listening|schedule|documents|followup'),
    unknownTo('catalogue', 'screening|program|prescription|script|listening|schedule|documents|followup'),
    unknownTo('screening', 'program|prescription|script|listening|schedule|documents|followup'),
    unknownTo('program', 'screening|prescription|script|listening|schedule|documents|followup'),
    unknownTo('prescription', 'script|listening|schedule|documents|followup'),
    unknownTo('script', 'screening|prescription|listening|schedule|documents|followup'),
    unknownTo('listening', 'screening|program|prescription|script|schedule|documents|followup'),
    unknownTo('schedule', 'script|documents|followup'),
    unknownTo('store', 'ffmpeg|voice|audio|session|catalogue|screening|program|prescription|script|schedule|documents|followup'),
    unknownTo(
      'reminders',
      'ffmpeg|voice|audio|session|script|catalogue|screening|program|listening|followup',
      // Who is told of a warning sign, and when again, stands with the signs.
      '^src/followup/warningSigns[.]ts$',
    ),
    unknownTo('files', 'ffmpeg|voice|audio|session|reminders|catalogue|program|script|listening|schedule|followup'),
    unknownTo('ffmpeg', 'voice|audio|session|catalogue|program|script|listening|schedule|followup'),
    unknownTo('voice', 'audio|session|catalogue|program|script|listening|schedule|followup'),
    unknownTo(
      'audio',
      'session|catalogue|program|script|listening|schedule|followup',
      // The shape of a finished script and the length of its presence sound, not how it is made.
      '^src/script/(timedScript|presence)[.]ts$',
    ),
    {
      name: 'channels-know-only-errors',
      comment: 'A channel carries any message: what it is about, whom it is for and when is decided elsewhere.',
      severity: 'error',
      from: { path: '^src/channels/' },
      to: { path: '^src/', pathNot: '^src/(channels|errors)/' },
    },
    {
      name: 'guide-knows-no-room',
      comment: 'It is read where nothing else works: its text, and the tools that read and escape texts.',
      severity: 'error',
      from: { path: '^src/guide/' },
      to: { path: '^src/', pathNot: '^src/(guide|errors|yaml)/|^src/documents/markup[.]ts$' },
    },
    {
      name: 'clinic-knows-no-page',
      comment: 'What can be done is the same for a page, another program, the command line and a test.',
      severity: 'error',
      from: { path: '^src/clinic/' },
      to: { path: '^src/(http|browser|demo|service|cli)/' },
    },
    {
      name: 'clinic-knows-no-http',
      comment: 'A command gives a result or refuses; http alone turns either into a page or JSON.',
      severity: 'error',
      from: { path: '^src/clinic/' },
      to: { path: '(^|node_modules/)(node:)?(https?|http2|express|helmet|mustache|@types/express)($|/)' },
    },
    {
      name: 'nothing-below-knows-the-clinic',
      severity: 'error',
      from: { path: '^src/', pathNot: '^src/(clinic|http|browser|demo|service|cli)/' },
      to: { path: '^src/(clinic|http|browser|demo|service|cli)/' },
    },
    {
      name: 'http-knows-nothing-above',
      severity: 'error',
      from: { path: '^src/(http|demo)/' },
      to: { path: '^src/(browser|service|cli)/' },
    },
    {
      name: 'pages-and-demo-apart',
      comment: 'The invented clinic is made by what any clinic does, and no page knows whether it shows one.',
      severity: 'error',
      from: { path: '^src/(http|demo)/' },
      to: { path: '^src/(http|demo)/', pathNot: '^src/$1/' },
    },
    {
      name: 'service-knows-no-command-line',
      severity: 'error',
      from: { path: '^src/service/' },
      to: { path: '^src/cli/' },
    },
    {
      name: 'browser-knows-its-contracts-only',
      comment: 'What a browser loads has no disk, no database and no secret.',
      severity: 'error',
      from: { path: '^src/browser/' },
      to: { path: '^src/', pathNot: '^src/(browser|listening|time)/' },
    },
    {
      name: 'product-does-not-know-its-tests',
      severity: 'error',
      from: { path: '^src/' },
      to: { path: '^(tests|scripts)/' },
    },
    {
      name: 'product-uses-no-development-package',
      severity: 'error',
      comment: 'The bundler of what browsers load works before packing, or where the service runs from its source.',
      from: { path: '^src/', pathNot: '^src/http/assets/bundleClient[.]ts$' },
      to: { dependencyTypes: ['npm-dev'], dependencyTypesNot: ['type-only'], pathNot: 'node_modules/@types/' },
    },
    { name: 'no-orphan', severity: 'error', from: { orphan: true, path: '^src/', pathNot: '[.]d[.]ts$' }, to: {} },
    {
      name: 'no-unresolved-import',
      comment: 'The types of FHIR R4 are all that there is at this address; a test would fail on any value from it.',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true, pathNot: '^fhir/r4[.]js$' },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { exportsFields: ['exports'], extensions: ['.ts', '.mjs', '.js', '.json'], conditionNames: ['import', 'node', 'types'] },
  },
};
