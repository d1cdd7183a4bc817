import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Message } from '../../src/channels/channel.js';
import { openMailServer } from '../../src/channels/mail.js';
import { openMailServerForTest, type TestMailServer } from './mailServer.js';
import { goOn, sampleMessage } from './sample.js';

let server: TestMailServer;
beforeAll(async () => {
  server = await openMailServerForTest();
});
afterAll(() => server.stop());

/** The HTML part as a mail program gets it. */
async function pageOf(changes: Partial<Message> = {}): Promise<string> {
  const channel = await openMailServer({
    ...{ host: '127.0.0.1', port: server.port, isSecure: false, needsStartTls: false, skipsStartTls: true },
    ...{ auth: null, from: { name: '', address: 'reminders@clinic.example' } },
  });
  await channel.send('elfriede@home.example', sampleMessage(changes), goOn);
  await channel.close();
  const html = server.received.at(-1)?.parsed.html;
  if (typeof html !== 'string') throw new Error('no HTML was received');
  // Mustache writes a slash as a character reference.
  return html.replaceAll('&#x2F;', '/');
}

const count = (text: string, pattern: RegExp) => [...text.matchAll(pattern)].length;

describe('the HTML of a mail', () => {
  it('names its language and its subject', async () => {
    const page = await pageOf({ language: 'de', subject: 'Zeit für Übungen' });
    expect(page).toMatch(/^<!doctype html>\s*<html lang="de">/);
    expect(page).toContain('<title>Zeit für Übungen</title>');
    expect(count(page, /<h1[ >]/g)).toBe(1);
  });

  it('has one button, and one small link to end such messages', async () => {
    const links = [...(await pageOf()).matchAll(/<a class="(\w+)" href="([^"]*)"[^>]*>([^<]*)<\/a>/g)];
    expect(links.map(([, kind, address, words]) => [kind, address, words])).toEqual([
      ['button', 'https://clinic.example/l/abc123/', 'Begin now'],
      ['foot', 'https://clinic.example/u/def456', 'Stop these messages'],
    ]);
  });

  it('has no link where there is nothing to open or to end', async () => {
    expect(await pageOf({ link: null, unsubscribe: null })).not.toContain('<a ');
  });

  it('loads nothing and runs nothing: no picture, font, script or form', async () => {
    const page = await pageOf();
    expect(page).not.toMatch(/<(img|script|link|iframe|form|object|video)\b|\bsrc=|url\(|@import|\son\w+=/i);
  });

  it('keeps paragraphs, and lines within them', async () => {
    const page = await pageOf({ text: 'One.\n\nTwo.\nThree.\n' });
    expect(page).toMatch(/<p [^>]*>One\.<\/p>\s*<p [^>]*>Two\.<br>Three\.<\/p>/);
  });

  it('shows words as words, whatever they are', async () => {
    const nasty = '<script>alert("1")</script> & {{subject}}';
    const page = await pageOf({
      subject: nasty,
      text: nasty,
      link: { words: nasty, address: 'https://a.example/?a="b"' },
    });
    expect(page).not.toContain('<script');
    expect(count(page, /&lt;script&gt;/g)).toBe(4);
    expect(page).not.toMatch(/href="https:\/\/a\.example\/\?a="/);
  });

  it('targets are at least 44 pixels high (WCAG 2.2, 2.5.5)', async () => {
    const page = await pageOf();
    const anchors = [...page.matchAll(/<(?:a|p) class="(?:button|foot)"[^>]*style="([^"]*)"/g)].map(
      ([, style = '']) => style,
    );
    const heightOf = (style: string, lineHeight: number) =>
      lineHeight + 2 * Number(/padding:(\d+)px/.exec(style)?.[1]);
    const lineHeights = [...page.matchAll(/line-height:(\d+)px; (?:font-weight|color)/g)].map(([, px]) =>
      Number(px),
    );
    const [button = '', , foot = ''] = anchors;
    expect(lineHeights).toHaveLength(2);
    expect(heightOf(button, lineHeights[0] ?? 0)).toBeGreaterThanOrEqual(44);
    expect(heightOf(foot, lineHeights[1] ?? 0)).toBeGreaterThanOrEqual(44);
  });
});

describe('its colors', () => {
  const template = fileURLToPath(new URL('../../src/channels/mail.html.mustache', import.meta.url));

  it('measures contrast as WCAG does: black on white is 21, and #767676 on white is just above 4.5', () => {
    expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
    // A well-known edge case, from memory.
    expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
  });

  it.each(['day', 'night'])('have a contrast of 7 to 1 by %s (WCAG 2.2, 1.4.6)', async (time) => {
    const text = await readFile(template, 'utf8');
    const colour = (kind: string, property: string) => {
      const rules = time === 'day' ? styleOf(text, kind) : ruleOf(text, kind);
      const found = new RegExp(`(?<![-\\w])${property}:\\s*(#[0-9a-f]{6})`).exec(rules)?.[1];
      if (found === undefined) throw new Error(`${kind} has no ${property} by ${time}`);
      return found;
    };
    const sheet = colour('sheet', 'background-color');
    expect(contrast(colour('sheet', 'color'), sheet)).toBeGreaterThanOrEqual(7);
    expect(contrast(colour('foot', 'color'), sheet)).toBeGreaterThanOrEqual(7);
    expect(contrast(colour('button', 'color'), colour('button', 'background-color'))).toBeGreaterThanOrEqual(
      7,
    );
    // The button stands out from what it lies on (1.4.11).
    expect(contrast(colour('button', 'background-color'), sheet)).toBeGreaterThanOrEqual(3);
  });
});

/** The styles that stand on the elements of a kind. */
function styleOf(text: string, kind: string): string {
  return [...text.matchAll(new RegExp(`class="${kind}"[^>]*style="([^"]*)"`, 'g'))]
    .map(([, style]) => style)
    .join(';');
}

/** The rule of a kind for dark screens. */
function ruleOf(text: string, kind: string): string {
  return new RegExp(`\\.${kind} \\{([^}]*)\\}`).exec(text)?.[1] ?? '';
}

/** WCAG 2.2, definitions of relative luminance and contrast ratio. */
function contrast(one: string, other: string): number {
  const [lighter = 0, darker = 0] = [luminance(one), luminance(other)].sort((a, b) => b - a);
  return (lighter + 0.05) / (darker + 0.05);
}

function luminance(colour: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((at) => {
    const part = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}
