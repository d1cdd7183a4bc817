import { create } from 'xmlbuilder2';
import { xmlText } from './markup.js';

/** A podcast feed. Addresses are absolute URLs, and anyone who has them can listen. */
export type Feed = {
  title: string;
  description: string;
  /** Address of the page that the feed belongs to. */
  address: string;
  /** Language tag, such as `en`. */
  language: string;
  imageAddress?: string;
  items: readonly FeedItem[];
};

export type FeedItem = {
  /** Stays the same as long as the session does. */
  id: string;
  title: string;
  description: string;
  pubAtMs: number;
  durationMs: number;
  /** An MP3 file. */
  audio: { address: string; byteLength: number };
  chaptersAddress: string;
  captionsAddress: string;
  wordsAddress: string;
};

const namespaces = {
  'xmlns:itunes': 'http://www.itunes.com/dtds/podcast-1.0.dtd',
  'xmlns:podcast': 'https://podcastindex.org/namespace/1.0',
};

/**
 * Returns a patient's sessions as a feed for any podcast player: RSS 2.0 with the usual podcast namespaces. It asks
 * directories not to list it, because it is for one person only.
 */
export function feedOf(feed: Feed): string {
  const { imageAddress } = feed;
  const channel = {
    title: line(feed.title),
    link: feed.address,
    description: paragraphs(feed.description),
    language: feed.language,
    'itunes:block': 'Yes',
    'itunes:explicit': 'false',
    ...(imageAddress === undefined ? {} : { 'itunes:image': { '@href': imageAddress } }),
    item: feed.items.map((item) => itemOf(item, feed.language)),
  };
  const rss = { '@version': '2.0', ...prefixed(namespaces), channel };
  return create({ encoding: 'UTF-8' }, { rss }).end({ prettyPrint: true });
}

function itemOf(item: FeedItem, language: string): object {
  return {
    title: line(item.title),
    description: paragraphs(item.description),
    guid: { '@isPermaLink': 'false', '#': item.id },
    // RFC 822 dates with four-digit years, as RSS 2.0 allows.
    pubDate: new Date(item.pubAtMs).toUTCString(),
    enclosure: {
      '@url': item.audio.address,
      '@length': String(item.audio.byteLength),
      '@type': 'audio/mpeg',
    },
    'itunes:duration': String(Math.round(item.durationMs / 1000)),
    'itunes:explicit': 'false',
    'podcast:chapters': { '@url': item.chaptersAddress, '@type': 'application/json+chapters' },
    'podcast:transcript': [
      { '@url': item.captionsAddress, '@type': 'text/vtt', '@language': language },
      { '@url': item.wordsAddress, '@type': 'text/plain', '@language': language },
    ],
  };
}

function prefixed(attributes: Readonly<Record<string, string>>): Record<string, string> {
  return Object.fromEntries(Object.entries(attributes).map(([name, value]) => [`@${name}`, value]));
}

function line(text: string): string {
  return xmlText(text).replace(/\s+/g, ' ').trim();
}

/** Normalizes line ends as XML readers do (XML 1.0, section 2.11), so that the text reads back as written. */
function paragraphs(text: string): string {
  return xmlText(text).replace(/\r\n?/g, '\n').trim();
}
