import { randomUUID } from 'node:crypto';
import type { Message } from '../../src/channels/channel.js';

/** A reminder as it might be sent; the person and the addresses are invented. */
export function sampleMessage(changes: Partial<Message> = {}): Message {
  return {
    key: `due:${randomUUID()}:2026-11-25#1`,
    kind: 'due',
    language: 'en',
    subject: 'It is time for your exercises',
    text: 'Good morning, Elfriede.\n\nYour session is ready: 15 minutes, lying down.\nTake all the time you need.',
    short: 'It is time for your exercises. They take 15 minutes.',
    link: { words: 'Begin now', address: 'https://clinic.example/l/abc123/' },
    unsubscribe: { words: 'Stop these messages', address: 'https://clinic.example/u/def456' },
    isUrgent: false,
    goodForSeconds: 3_600,
    ...changes,
  };
}

/** A signal that nobody aborts. */
export const goOn: AbortSignal = new AbortController().signal;
