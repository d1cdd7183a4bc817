import { need, onPress, write } from './dom.js';
import type { Parts } from './parts.js';
import { openReminding } from './reminding.js';

const forEver = new AbortController().signal;

/** How loud, whether the screen may sleep, reminders, an address for other players: choices that stay on this device. */
export function openSettings(parts: Parts, area: HTMLDetailsElement): void {
  const { words, volume, wake, prompts, day } = parts;
  const loudness = need(area, '[data-loudness]');
  loudness.hidden = !volume.isOurs;
  need(area, '[data-own-buttons]').hidden = volume.isOurs;
  const sayHowLoud = () => {
    const person = day.people[0];
    if (person !== undefined) prompts.say(person.id, 'voice-check');
  };
  const change = (by: 1 | -1) => {
    const isChanged = volume.change(by);
    write(
      area,
      'loudness',
      words.say(isChanged ? 'loudness' : 'loudness-end', { percent: Math.round(volume.level * 100) }),
    );
    sayHowLoud();
  };
  onPress(area, '[data-do="softer"]', forEver, () => change(-1));
  onPress(area, '[data-do="louder"]', forEver, () => change(1));
  onPress(area, '[data-do="hear"]', forEver, sayHowLoud);

  const maySleep = need<HTMLInputElement>(area, 'input[name="may-sleep"]');
  maySleep.checked = wake.maySleep;
  maySleep.addEventListener('change', () => {
    wake.maySleep = maySleep.checked;
  });

  openReminding(parts, area);

  const feed = area.querySelector<HTMLElement>('[data-feed]');
  if (feed !== null) onPress(feed, '[data-do="feed"]', forEver, () => giveFeed(parts, feed));
}

/** An address for a podcast player; the one that was given before ends. */
async function giveFeed({ words }: Parts, area: HTMLElement): Promise<void> {
  const response = await fetch('feed', { method: 'POST' }).catch(() => null);
  if (response === null || !response.ok) return write(area, 'feed', words.say('feed-failed'));
  const { address }: { address: string } = await response.json();
  write(area, 'feed', new URL(address, location.href).href);
}
