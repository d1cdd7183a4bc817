import { onPress, requireElement, writeText } from './dom.js';
import type { Parts } from './parts.js';
import { openReaders } from './readers.js';

const forEver = new AbortController().signal;

/** Opens the settings: volume, whether the screen may sleep, reminders, and addresses for other programs. */
export function openSettings(parts: Parts, area: HTMLDetailsElement): void {
  const { words, volume, wake, prompts, day } = parts;
  const loudness = requireElement(area, '[data-loudness]');
  loudness.hidden = !volume.isOurs;
  requireElement(area, '[data-own-buttons]').hidden = volume.isOurs;
  const sayHowLoud = () => {
    const person = day.people[0];
    if (person !== undefined) prompts.say(person.id, 'voice-check');
  };
  const change = (by: 1 | -1) => {
    const isChanged = volume.change(by);
    writeText(
      area,
      'loudness',
      words.say(isChanged ? 'loudness' : 'loudness-end', { percent: Math.round(volume.level * 100) }),
    );
    sayHowLoud();
  };
  onPress(area, '[data-do="softer"]', forEver, () => change(-1));
  onPress(area, '[data-do="louder"]', forEver, () => change(1));
  onPress(area, '[data-do="hear"]', forEver, sayHowLoud);

  const maySleep = requireElement<HTMLInputElement>(area, 'input[name="may-sleep"]');
  maySleep.checked = wake.maySleep;
  maySleep.addEventListener('change', () => {
    wake.maySleep = maySleep.checked;
  });

  const reminding = area.querySelector<HTMLElement>('[data-reminding]');
  if (reminding !== null) loadReminding(parts, area, reminding.dataset.reminding ?? '');

  openReaders(parts, area);
}

/** Loads the reminder settings only when the settings are opened, because most listeners never open them. */
function loadReminding(parts: Parts, area: HTMLDetailsElement, address: string): void {
  const load = async () => {
    const module: typeof import('./reminding.js') | null = await import(address).catch(() => null);
    if (module === null) return;
    area.removeEventListener('toggle', load);
    module.openReminderSettings(parts, area);
  };
  area.addEventListener('toggle', load);
}
