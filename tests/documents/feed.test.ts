import fc from 'fast-check';
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import Parser from 'rss-parser';
import { describe, expect, it } from 'vitest';
import { type Feed, type FeedItem, feedOf } from '../../src/documents/feed.js';

const item: FeedItem = {
  id: '6b9f1c1e-4b0e-4a5e-8f27-0d9b1c8a7e11/2026-11-25#1',
  title: 'Wednesday morning',
  description: 'About 15 minutes.\nHave a towel near.',
  pubAtMs: Date.UTC(2026, 10, 25, 8, 0, 0),
  durationMs: 899_600,
  audio: { address: 'https://clinic.example/feed/abc/1.mp3?a=1&b=2', byteLength: 7_200_123 },
  chaptersAddress: 'https://clinic.example/feed/abc/1.json',
  captionsAddress: 'https://clinic.example/feed/abc/1.vtt',
  wordsAddress: 'https://clinic.example/feed/abc/1.txt',
};

const feed: Feed = {
  title: 'Sessions for Rosa',
  description: 'From your clinic',
  address: 'https://clinic.example/',
  language: 'en',
  imageAddress: 'https://clinic.example/picture.png',
  items: [item, { ...item, id: 'second', title: 'Wednesday evening' }],
};

/** As a podcast player's reader takes it: rss-parser. */
const read = (xml: string) =>
  new Parser<{ language: string }, { chapters: { $: object }; transcripts: { $: object }[] }>({
    customFields: {
      feed: ['language'],
      item: [
        ['podcast:chapters', 'chapters'],
        ['podcast:transcript', 'transcripts', { keepArray: true }],
      ],
    },
  }).parseString(xml);

/** As a strict reader takes it: fast-xml-parser, which also checks that it is well formed. */
function readStrictly(xml: string) {
  expect(XMLValidator.validate(xml)).toBe(true);
  return new XMLParser({ ignoreAttributes: false, parseTagValue: false, trimValues: false }).parse(xml);
}

describe('the feed of somebody’s sessions', () => {
  it('is read by a podcast reader, with every sound, its length and what belongs to it', async () => {
    const found = await read(feedOf(feed));
    expect(found).toMatchObject({
      title: 'Sessions for Rosa',
      description: 'From your clinic',
      link: 'https://clinic.example/',
      language: 'en',
      itunes: { image: 'https://clinic.example/picture.png', explicit: 'false' },
    });
    expect(found.items.map(({ title }) => title)).toEqual(['Wednesday morning', 'Wednesday evening']);
    const [first] = found.items;
    expect(first).toMatchObject({
      guid: item.id,
      content: item.description,
      isoDate: '2026-11-25T08:00:00.000Z',
      enclosure: { url: item.audio.address, length: '7200123', type: 'audio/mpeg' },
      itunes: { duration: '900' },
    });
    expect(first?.chapters.$).toEqual({ url: item.chaptersAddress, type: 'application/json+chapters' });
    expect(first?.transcripts.map(({ $ }) => $)).toEqual([
      { url: item.captionsAddress, type: 'text/vtt', language: 'en' },
      { url: item.wordsAddress, type: 'text/plain', language: 'en' },
    ]);
  });

  it('has what RSS 2.0 and the namespaces ask for, and asks directories to leave it out', () => {
    const { rss } = readStrictly(feedOf(feed));
    expect(rss).toMatchObject({
      '@_version': '2.0',
      '@_xmlns:itunes': 'http://www.itunes.com/dtds/podcast-1.0.dtd',
      '@_xmlns:podcast': 'https://podcastindex.org/namespace/1.0',
      channel: { 'itunes:block': 'Yes', 'itunes:explicit': 'false' },
    });
    expect(rss.channel.item[0].guid).toEqual({ '@_isPermaLink': 'false', '#text': item.id });
    // RFC 822, section 5.1, with the four digits of a year that RSS 2.0 prefers.
    expect(rss.channel.item[0].pubDate).toBe('Wed, 25 Nov 2026 08:00:00 GMT');
  });

  it('is whole without a picture and without sessions', async () => {
    const { imageAddress: _imageAddress, ...plain } = feed;
    const xml = feedOf({ ...plain, items: [] });
    expect(readStrictly(xml).rss.channel).not.toHaveProperty('itunes:image');
    expect((await read(xml)).items).toEqual([]);
  });

  it.each([
    'Rosa & Emil',
    '<b>"Rosa"</b>',
    "O'Hara ]]> done",
    'Großmutter 👵🏽',
    '早晨 الصباح שחר',
    'a\u0000b\uD800c',
  ])('keeps a name such as %j', async (title) => {
    const xml = feedOf({ ...feed, title, items: [{ ...item, title, description: title }] });
    const kept = title.replaceAll('\u0000', '').replaceAll('\uD800', '');
    expect(readStrictly(xml).rss.channel.item.title).toBe(kept);
    const found = await read(xml);
    expect([found.title, found.items[0]?.title, found.items[0]?.content]).toEqual([kept, kept, kept]);
  });

  it('keeps whatever else is written into it, and stays well formed', async () => {
    // Any characters of XML 1.0, section 2.2; white space is said in the next check.
    const written = fc
      .string({ unit: 'binary', minLength: 1, maxLength: 40 })
      .map((text) => text.replace(/[^\u0021-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]|\s/gu, ''))
      .filter((text) => text !== '');
    await fc.assert(
      fc.asyncProperty(written, written, async (title, address) => {
        const audio = { address: `https://clinic.example/${address}`, byteLength: 1 };
        const xml = feedOf({ ...feed, title, items: [{ ...item, title, audio }] });
        expect(readStrictly(xml).rss.channel.item.title).toBe(title);
        const found = await read(xml);
        expect([found.title, found.items[0]?.title]).toEqual([title, title]);
        expect(found.items[0]?.enclosure?.url).toBe(audio.address);
      }),
      { numRuns: 300 },
    );
  });

  it('keeps paragraphs in a description and none in a title, whatever ended the lines', async () => {
    const written = ' One\r\ntwo\rthree  ';
    const found = await read(feedOf({ ...feed, items: [{ ...item, title: written, description: written }] }));
    expect(found.items[0]).toMatchObject({ title: 'One two three', content: 'One\ntwo\nthree' });
  });
});
