import { randomUUID } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Drawer } from '../../../src/browser/listen/drawer.js';
import { newId } from '../../../src/browser/listen/ids.js';
import { Outbox, type Sender } from '../../../src/browser/listen/outbox.js';
import { type Post, sendAll } from '../../../src/browser/listen/sendAll.js';
import {
  mostItemsAtOnce,
  type Report,
  type ReportAnswer,
  type ReportItem,
  reportItemSchema,
  reportSchema,
} from '../../../src/listening/report.js';

const [rosa, walter] = [randomUUID(), randomUUID()];
const scope = '/l/rosas-link/';
const rosasPage = { isCaregiver: false, peopleIds: [rosa], scope };
const never = () => {
  throw new Error('nothing should be full');
};

/** The browser's storage as the HTML standard has it: names in no order that anybody may rely on, and little room. */
function drawer(mostCharacters = Number.POSITIVE_INFINITY): Drawer {
  const kept = new Map<string, string>();
  const names = () => [...kept.keys()].sort((a, b) => (a.slice(-4) < b.slice(-4) ? -1 : 1));
  return {
    get length() {
      return kept.size;
    },
    key: (index) => names()[index] ?? null,
    getItem: (name) => kept.get(name) ?? null,
    setItem(name, text) {
      const used = [...kept].reduce((sum, [key, value]) => sum + key.length + value.length, 0);
      if (used + name.length + text.length > mostCharacters)
        throw new DOMException('full', 'QuotaExceededError');
      kept.set(name, text);
    },
    removeItem: (name) => void kept.delete(name),
  };
}

function step(patientId = rosa): ReportItem {
  return {
    kind: 'step',
    id: newId(),
    listeningId: randomUUID(),
    patientId,
    prescriptionId: randomUUID(),
    versionNumber: 1,
    sessionNumber: 1,
    slot: '2026-11-25#1',
    step: 'reached',
    positionMs: 1_000,
    atMs: 1_000,
  };
}

function warning(patientId = rosa): ReportItem {
  const { kind: _kind, step: _step, ...rest } = step(patientId) as Extract<ReportItem, { kind: 'step' }>;
  return { kind: 'warning', ...rest, signs: [] };
}

/** A service as its contract has it: keeps each id once, in the order in which they came; answers may be lost. */
class Service {
  readonly kept: string[] = [];
  readonly sizes: number[] = [];
  readonly refuses: ReadonlySet<string>;

  constructor(refuses: ReadonlySet<string> = new Set()) {
    this.refuses = refuses;
  }

  take(report: Report): ReportAnswer {
    reportSchema.parse(report);
    this.sizes.push(report.items.length);
    const answer: ReportAnswer = { keptIds: [], refused: [] };
    for (const [index, item] of report.items.entries()) {
      reportItemSchema.parse(item);
      if (this.refuses.has(item.id)) answer.refused.push({ index, why: 'refused' });
      else {
        if (!this.kept.includes(item.id)) this.kept.push(item.id);
        answer.keptIds.push(item.id);
      }
    }
    return answer;
  }
}

type Fault = 'none' | 'lost-before' | 'lost-after' | 'half-answer';
const faults = fc.constantFrom<Fault>('none', 'lost-before', 'lost-after', 'half-answer');

function postTo(service: Service, next: () => Fault): Post {
  return async (report) => {
    const fault = next();
    // Tabs that send at the same time come in any order.
    await Promise.resolve();
    if (fault === 'lost-before') return { kind: 'unreached' };
    const answer = service.take(report);
    if (fault === 'lost-after') return { kind: 'unreached' };
    if (fault === 'half-answer') answer.keptIds.splice(Math.ceil(answer.keptIds.length / 2));
    return { kind: 'answered', answer };
  };
}

describe('reports that wait to be sent', () => {
  it('arrive exactly once and in order, whatever the network does, over reloads and in two tabs', async () => {
    const acts = fc.array(fc.constantFrom('add', 'add', 'send', 'reload', 'both-tabs-send'), {
      maxLength: 40,
    });
    await fc.assert(
      fc.asyncProperty(acts, fc.infiniteStream(faults), async (all, stream) => {
        const storage = drawer();
        const service = new Service();
        const post = postTo(service, () => stream.next().value);
        const told: string[] = [];
        const settings = { sender: rosasPage, now: () => 5_000 };
        let tabs = [new Outbox(storage, never), new Outbox(storage, never)] as const;
        for (const act of all) {
          if (act === 'add') {
            const item = step();
            told.push(item.id);
            tabs[told.length % 2]?.add({ item, isCaregiver: false, scope });
          }
          if (act === 'send') await sendAll(tabs[0], { ...settings, post });
          if (act === 'both-tabs-send')
            await Promise.all(tabs.map((tab) => sendAll(tab, { ...settings, post })));
          if (act === 'reload') tabs = [new Outbox(storage, never), new Outbox(storage, never)];
        }
        await sendAll(tabs[1], { ...settings, post: postTo(service, () => 'none') });
        expect(service.kept).toEqual(told);
        expect(tabs[0].unsent()).toEqual([]);
        expect(storage.length).toBe(0);
      }),
    );
  });

  it('are forgotten when they are refused, which is said, and hold up nothing behind them', async () => {
    const outbox = new Outbox(drawer(), never);
    const items = [step(), step(), step()];
    for (const item of items) outbox.add({ item, isCaregiver: false, scope });
    const service = new Service(new Set([items[1]?.id ?? '']));
    const post = postTo(service, () => 'none');
    const sent = await sendAll(outbox, { sender: rosasPage, post, now: () => 0 });
    expect(sent).toEqual({ ended: 'done', refused: [items[1]] });
    expect(service.kept).toEqual([items[0]?.id, items[2]?.id]);
  });

  it('stay when the service leaves them unanswered, and are not sent in circles', async () => {
    const outbox = new Outbox(drawer(), never);
    outbox.add({ item: step(), isCaregiver: false, scope });
    let asked = 0;
    const post: Post = async () => {
      asked += 1;
      return { kind: 'answered', answer: { keptIds: [], refused: [] } };
    };
    expect(await sendAll(outbox, { sender: rosasPage, post, now: () => 0 })).toMatchObject({
      ended: 'unreached',
    });
    expect(asked).toBe(1);
    expect(outbox.unsent()).toHaveLength(1);
  });

  it('go in batches that the service takes and a page that is being left may send', async () => {
    const outbox = new Outbox(drawer(), never);
    for (let count = 0; count < 250; count += 1) outbox.add({ item: step(), isCaregiver: false, scope });
    const service = new Service();
    await sendAll(outbox, { sender: rosasPage, post: postTo(service, () => 'none'), now: () => 0 });
    expect(service.kept).toHaveLength(250);
    expect(Math.max(...service.sizes)).toBeLessThanOrEqual(mostItemsAtOnce);
    for (let count = 0; count < 100; count += 1) {
      const item = {
        ...warning(),
        signs: Array.from({ length: 30 }, (_, sign) => `a-long-name-of-a-sign-${sign}`),
      };
      outbox.add({ item, isCaregiver: false, scope });
    }
    // Fetch standard: all keepalive requests of a page together may hold 64 KiB.
    expect(JSON.stringify(outbox.batch(rosasPage, 0)).length).toBeLessThan(64 * 1024);
    expect(outbox.batch(rosasPage, 0).length).toBeGreaterThan(1);
  });

  it('are sent by whoever may tell them: another person’s wait for that person’s link', () => {
    const outbox = new Outbox(drawer(), never);
    const [own, others, danger] = [step(rosa), step(walter), warning(rosa)];
    const [jules, tills] = ['/l/jules-link/', '/l/tills-link/'];
    const caregivers = step(rosa);
    outbox.add({ item: own, isCaregiver: false, scope });
    outbox.add({ item: others, isCaregiver: false, scope: '/l/walters-link/' });
    outbox.add({ item: caregivers, isCaregiver: true, scope: jules });
    outbox.add({ item: danger, isCaregiver: true, scope: jules });
    const idsFor = (sender: Sender) => outbox.batch(sender, 0).map(({ id }) => id);
    expect(idsFor(rosasPage)).toEqual([own.id, danger.id]);
    expect(idsFor({ ...rosasPage, scope: '/l/rosas-next-link/' })).toEqual([own.id, danger.id]);
    expect(idsFor({ ...rosasPage, peopleIds: [walter] })).toEqual([others.id]);
    const both = { isCaregiver: true, peopleIds: [rosa, walter] };
    expect(idsFor({ ...both, scope: jules })).toEqual([caregivers.id, danger.id]);
    expect(idsFor({ ...both, scope: tills }), 'another caregiver would tell it as their own').toEqual([
      danger.id,
    ]);
  });

  it('can be taken back for a while, and keep what follows behind them until then', () => {
    const outbox = new Outbox(drawer(), never);
    const [mistaken, meant, after] = [warning(), warning(), step()];
    outbox.add({ item: mistaken, isCaregiver: false, scope, waitsUntilMs: 20_000 });
    outbox.add({ item: after, isCaregiver: false, scope });
    expect(outbox.batch(rosasPage, 19_999)).toEqual([]);
    expect(outbox.takeBack(mistaken.id, 19_999)).toBe(true);
    expect(outbox.batch(rosasPage, 19_999)).toEqual([after]);
    outbox.add({ item: meant, isCaregiver: false, scope, waitsUntilMs: 40_000 });
    outbox.confirm();
    expect(outbox.batch(rosasPage, 20_000)).toEqual([after, meant]);
    expect(outbox.takeBack(meant.id, 20_000), 'the clinic may know of it').toBe(false);
    expect(outbox.takeBack(after.id, 0), 'what never waited cannot be taken back').toBe(false);
  });

  it('stay in memory, in order, when the browser has no room, and say so', async () => {
    let toldFull = 0;
    const outbox = new Outbox(drawer(1_000), () => {
      toldFull += 1;
    });
    const items = Array.from({ length: 6 }, () => step());
    for (const item of items) outbox.add({ item, isCaregiver: false, scope });
    expect(toldFull).toBeGreaterThan(0);
    const service = new Service();
    await sendAll(outbox, { sender: rosasPage, post: postTo(service, () => 'none'), now: () => 0 });
    expect(service.kept).toEqual(items.map(({ id }) => id));
    expect(outbox.unsent()).toEqual([]);
  });

  it('survive a damaged entry', () => {
    const storage = drawer();
    const outbox = new Outbox(storage, never);
    outbox.add({ item: step(), isCaregiver: false, scope });
    storage.setItem(storage.key(0) ?? '', '{"item":');
    outbox.add({ item: step(), isCaregiver: false, scope });
    expect(outbox.unsent()).toHaveLength(1);
  });
});
