import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { XMLValidator } from 'fast-xml-parser';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openClinicWithPerson, type TestClinic, Visitor } from '../../support/clinic.js';
import { formOf } from '../../support/forms.js';

let clinic: TestClinic;
let ada: Visitor;
let patientPath: string;
let templates: string;

/** Templates of a clinic that added an exercise of its own, without poses. */
beforeAll(async () => {
  templates = await mkdtemp(join(tmpdir(), 'stillcount-templates-'));
  await cp('audio-templates', templates, { recursive: true });
  const exercises = join(templates, 'en', 'exercises');
  const known = await readFile(join(exercises, 'body-awareness-rest.yaml'), 'utf8');
  const own = known
    .replace(/^id: .*/m, 'id: own-rest')
    .replace(/^name: .*/m, 'name: Our own rest')
    .replace(/^figure:\n(?: .*\n)+/m, '');
  await writeFile(join(exercises, 'own-rest.yaml'), own);
  ({ clinic, ada, patientPath } = await openClinicWithPerson({ STILLCOUNT_TEMPLATES: templates }));
});
afterAll(async () => {
  await clinic.remove();
  await rm(templates, { recursive: true, force: true });
});

const pageAt = async (path: string) => plain(await (await ada.get(path)).text());
const plain = (page: string) =>
  page.replaceAll('&#x2F;', '/').replaceAll('&#x3D;', '=').replaceAll('&amp;', '&');
const wordsAlone = 'No figure: this exercise is taught in words only.';

describe('the page of all exercises', () => {
  it('shows every pose with its text, within 150 kB, and says which exercise has none', async () => {
    const page = await pageAt('/exercises');
    expect(Buffer.byteLength(page)).toBeLessThan(150_000);
    const files = [...page.matchAll(/<li id="([\w-]+)">(.*?)<\/li>/gs)];
    expect(files.length).toBeGreaterThanOrEqual(46);
    for (const [, id = '', item = ''] of files) {
      const poses = item.match(/<figcaption>[^<]{10,}<\/figcaption>/g) ?? [];
      const addresses = poses.map((_, index) => `/exercises/${id}/poses/${index + 1}"`);
      for (const address of addresses) expect(item).toContain(address);
      if (id === 'own-rest') expect(item).toContain(wordsAlone);
      else expect(poses.length, id).toBeGreaterThan(0);
    }
    expect(page.match(new RegExp(wordsAlone, 'g'))).toHaveLength(1);
    expect(page).not.toContain('Rosa');
  });

  it('gives each pose as a picture that members may keep for a while, and nobody else sees', async () => {
    const answer = await ada.get('/exercises/arm-reach/poses/2');
    expect(answer.headers.get('content-type')).toContain('image/svg+xml');
    expect(answer.headers.get('cache-control')).toBe('private, max-age=600');
    const right = await answer.text();
    expect(XMLValidator.validate(right)).toBe(true);
    expect(right).toContain('aria-label="Right arm overhead');
    const left = await pageAt('/exercises/arm-reach/poses/2?side=left&headSupport=pillow&knees=bent');
    expect(left).toContain('aria-label="Left arm overhead');
    expect(left).toContain('<g transform="scale(-1 1)">');
    const stranger = new Visitor(() => clinic.service.address);
    for (const path of ['/exercises', '/exercises/arm-reach/poses/2']) {
      const refused = await stranger.get(path);
      expect([refused.status, refused.headers.get('location')]).toEqual([303, '/sign-in']);
    }
  });

  it('refuses what there is no picture of', async () => {
    for (const [path, status] of [
      ['arm-reach/poses/3', 404],
      ['arm-reach/poses/0', 404],
      ['arm-reach/poses/x', 404],
      ['own-rest/poses/1', 404],
      ['no-such/poses/1', 404],
      ['arm-reach/poses/1?side=left', 400],
      ['arm-reach/poses/1?side=both&headSupport=pillow&knees=bent', 400],
      ['arm-reach/poses/1?side=left&headSupport=brick&knees=bent', 400],
    ] as const)
      expect((await ada.get(`/exercises/${path}`)).status, path).toBe(status);
  });
});

describe('a program in figures', () => {
  const reach = 'program.exercises.3';
  const addressOf = (how: string) => `/exercises/arm-reach/poses/2?${how}`;

  /** The part of the page that changes with the work, and the figure of the arm reach in the strip. */
  async function drawn(
    fields: Record<string, string>,
  ): Promise<{ work: string; strip: string; arm: string }> {
    const answer = await ada.submit(`${patientPath}/prescribe/preview`, { ...fields, do: 'update' });
    const work = plain(JSON.parse(await answer.text()).part);
    const strip = /<ol class="program-figures".*?<\/ol>/s.exec(work)?.[0] ?? '';
    return { work, strip, arm: strip.split('<li')[4] ?? '' };
  }

  it('is drawn for its own side, head support and knees, as the fields stand', async () => {
    const starter = { starter: 'first', do: 'starter' };
    const form = await formOf(await ada.submit(`${patientPath}/prescribe`, starter));
    const first = await drawn(form);
    expect(first.strip.match(/<svg class="figure"/g)).toHaveLength(5);
    expect(first.arm).toContain('4. Overhead arm reach on the out-breath <span class="soft">Alternating');
    expect(first.arm).toContain('aria-label="Right arm overhead');
    expect(first.work).toContain(addressOf('side=right&headSupport=folded-towel&knees=bent'));
    expect(first.work).toContain('Drawn for the right side; the left side is its mirror image.');

    const left = await drawn({ ...form, [`${reach}.side`]: 'left', 'program.setUp.headSupport': 'pillow' });
    expect(left.arm).toContain('aria-label="Left arm overhead');
    expect(left.arm).toContain('<g transform="scale(-1 1)">');
    expect(left.work).toContain(addressOf('side=left&headSupport=pillow&knees=bent'));
    expect(left.work).toContain('arms by the sides, head on a pillow');
    expect(left.work).not.toContain('Drawn for the right side');

    const own = await drawn({
      ...form,
      [`${reach}.setUp.headSupport`]: 'none',
      [`${reach}.dose.reps`]: '999',
    });
    expect(own.work, 'although a number is out of range').toContain('not ready to sign');
    expect(own.work).toContain(addressOf('side=right&headSupport=none&knees=bent'));
    expect(own.work).toContain('head on the bed');
    expect(own.strip.match(/<svg/g)).toHaveLength(5);
  });

  it('shows the working pose of what can be added, and says which exercise is words alone', async () => {
    const form = await formOf(await ada.get(`${patientPath}/prescribe`));
    const added = { ...form, do: 'add:own-rest' };
    const page = plain(await (await ada.submit(`${patientPath}/prescribe`, added)).text());
    expect(page).toContain('src="/exercises/head-press/poses/2"');
    expect(page).toContain(wordsAlone);
    expect(page).toMatch(/<span class="no-figure">No figure<\/span><span>5\. Our own rest/);
  });

  it('is shown as it was signed', async () => {
    const form = await formOf(await ada.get(`${patientPath}/prescribe`));
    const arm = { side: 'left', 'setUp.headSupport': 'thin-pillow', 'dose.reps': '4' };
    const entries = Object.entries(arm).map(([name, value]) => [`${reach}.${name}`, value]);
    const fields = { ...form, ...Object.fromEntries(entries) };
    const signed = await ada.submit(`${patientPath}/prescribe`, { ...fields, reason: 'A start', do: 'sign' });
    const page = await pageAt(signed.headers.get('location') ?? '');
    const items = [...page.matchAll(/<li class="signed">(.*?)<\/li>/gs)].map(([, item]) => item ?? '');
    expect(items).toHaveLength(6);
    expect(items[3]).toContain('head on a thin pillow');
    expect(items[3]).toContain('aria-label="Left arm overhead');
    expect(items[4]).toContain('No figure: taught in words only.');
    expect(items[4]).not.toContain('<svg');
  });
});
