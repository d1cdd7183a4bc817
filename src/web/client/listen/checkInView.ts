import type { PromptKey } from '../../../listening/plan.js';
import type { CheckInAnswers } from '../../../listening/report.js';
import { answerOf, firstUnanswered, type Question, questions } from './checkInAnswers.js';
import { need, onPress, write } from './dom.js';
import type { Listening } from './listening.js';
import type { Parts } from './parts.js';
import { giveAdvice } from './signs.js';

const promptOf: Readonly<Record<Question, PromptKey>> = {
  done: 'ask-done',
  painBefore: 'ask-pain-before',
  painAfter: 'ask-pain-after',
  effort: 'ask-effort',
  signs: 'ask-signs',
  note: 'ask-note',
};

/**
 * The questions after a session, sitting up, one at a time. Each can be skipped, which is an answer too. They are kept
 * on the phone from the first one on; whoever leaves on the way has told what was answered.
 */
export async function checkIn(parts: Parts, listening: Listening): Promise<void> {
  if (!(await sitUp(parts))) return;
  const isThrough = await ask(parts, listening);
  if (isThrough) {
    listening.close();
    await thank(parts, listening);
  } else listening.tellAnswers();
}

function sitUp({ views }: Parts): Promise<boolean> {
  return views.run<boolean>('sit-up', { back: () => false }, ({ element, signal, finish }) => {
    onPress(element, '[data-do="sitting"]', signal, () => finish(true));
    onPress(element, '[data-do="leave"]', signal, () => finish(false));
  });
}

/** @returns whether every question was answered or skipped */
function ask(parts: Parts, listening: Listening): Promise<boolean> {
  const { views, words, prompts } = parts;
  return views.run<boolean>('check-in', { back: () => false }, ({ element, signal, finish }) => {
    const form = need<HTMLFormElement>(element, 'form');
    let asked: Question = firstUnanswered(listening.answers);
    form.reset();

    const place = () => need(form, `[data-question="${asked}"]`);
    const show = () => {
      for (const question of form.querySelectorAll<HTMLElement>('[data-question]'))
        question.hidden = question.dataset.question !== asked;
      const number = questions.indexOf(asked) + 1;
      write(element, 'progress', words.say('question-of', { number, of: questions.length }));
      write(element, 'problem', '');
      need(element, '[data-do="back"]').hidden = number === 1;
      window.scrollTo(0, 0);
      need(place(), '[data-heading]').focus({ preventScroll: true });
    };
    const go = (by: 1 | -1) => {
      prompts.hush();
      const next = questions[questions.indexOf(asked) + by];
      if (next === undefined) return finish(true);
      asked = next;
      show();
    };
    const keep = async (answer: CheckInAnswers) => {
      listening.answer(answer);
      const signs = answer.signs ?? [];
      if (signs.length > 0) {
        prompts.hush();
        listening.warn(signs);
        await giveAdvice(parts, signs);
      }
      go(1);
    };

    form.addEventListener(
      'submit',
      (event) => {
        event.preventDefault();
        const answer = answerOf(asked, new FormData(form));
        if (answer !== null) return keep(answer);
        write(element, 'problem', words.say('choose-one'));
      },
      { signal },
    );
    letNoneStandAlone(form, signal);
    onPress(element, '[data-do="skip"]', signal, () => keep({ [asked]: null }));
    onPress(element, '[data-do="back"]', signal, () => go(-1));
    onPress(element, '[data-do="leave"]', signal, () => finish(false));
    onPress(element, '[data-do="say"]', signal, () => prompts.say(listening.person.id, promptOf[asked]));
    window.addEventListener('pagehide', () => listening.tellAnswers(), { signal });
    signal.addEventListener('abort', () => prompts.hush());
    show();
  });
}

function thank({ views, prompts }: Parts, { person }: Listening): Promise<void> {
  return views.run<void>('thanks', { back: () => undefined }, ({ element, signal, finish }) => {
    onPress(element, '[data-do="leave"]', signal, () => finish());
    signal.addEventListener('abort', () => prompts.hush());
    prompts.say(person.id, 'thanks');
  });
}

/** "None of these" and the signs take each other back. */
function letNoneStandAlone(form: HTMLFormElement, signal: AbortSignal): void {
  const none = need<HTMLInputElement>(form, 'input[name="no-sign"]');
  form.addEventListener(
    'change',
    ({ target }) => {
      if (!(target instanceof HTMLInputElement)) return;
      if (target === none && none.checked)
        for (const sign of form.querySelectorAll<HTMLInputElement>('input[name="sign"]'))
          sign.checked = false;
      if (target.name === 'sign' && target.checked) none.checked = false;
    },
    { signal },
  );
}
