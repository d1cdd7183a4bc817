import type { PromptKey } from '../../listening/plan.js';
import type { CheckInAnswers } from '../../listening/report.js';
import {
  answerOf,
  firstUnanswered,
  listSigns,
  type Question,
  questionsFor,
  skippedAnswer,
} from './checkInAnswers.js';
import { onPress, requireElement, writeText } from './dom.js';
import type { Listening } from './listening.js';
import { NoteWords } from './noteWords.js';
import { onPageHide } from './pageHide.js';
import type { Parts } from './parts.js';
import { writePatientLabel } from './patientLabel.js';
import { showSignAdvice } from './signs.js';
import { markViewChange } from './steady.js';

/**
 * The spoken prompt of each question. One question is only written, because it follows directly from the answer before
 * it.
 */
const promptOf: Readonly<Record<Question, PromptKey | null>> = {
  done: 'ask-done',
  painBefore: 'ask-pain-before',
  painAfter: 'ask-pain-after',
  risingPain: null,
  effort: 'ask-effort',
  signs: 'ask-signs',
  note: 'ask-note',
};

/** By this time it is usually known whether the clinic has the answers. */
const knownWithinMs = 3_000;

/** How the questions ended; after an emergency no more are asked. */
type Asked = 'through' | 'left' | 'emergency';

/** Shows how to sit up after a session, and then its questions. */
export async function runCheckIn(parts: Parts, listening: Listening): Promise<void> {
  if (await sitUp(parts, listening)) await askQuestions(parts, listening);
}

/**
 * Asks the questions, one at a time. Each can be skipped, which counts as an answer. Answers are stored on the phone
 * from the first one on; if the listener leaves early, the answers so far are reported.
 */
export async function askQuestions(parts: Parts, listening: Listening): Promise<void> {
  const outcome = await ask(parts, listening);
  if (outcome === 'left') listening.tellAnswers();
  else listening.close();
  if (outcome === 'through') await thank(parts, listening);
}

function sitUp(parts: Parts, { person }: Listening): Promise<boolean> {
  const { views, prompts } = parts;
  return views.run<boolean>('sit-up', { back: () => false }, ({ element, signal, finish }) => {
    onPress(element, '[data-do="sitting"], [data-do="lying"]', signal, () => finish(true));
    onPress(element, '[data-do="leave"]', signal, () => finish(false));
    signal.addEventListener('abort', () => prompts.hush());
    writePatientLabel(parts, element, person);
    prompts.say(person.id, 'sit-up');
  });
}

async function ask(parts: Parts, listening: Listening): Promise<Asked> {
  const { views, words, prompts } = parts;
  const form = requireElement<HTMLFormElement>(document, '[data-view="check-in"] form');
  form.reset();
  const formData = () => new FormData(form);
  const [warned, advised] = [new Set<string>(), new Set<string>()];
  const noteWords = new NoteWords(parts, listening, form);
  let current: Question = firstUnanswered(listening.answers);

  /** Reports a ticked sign, however the listener leaves the list. */
  const warnOfTicks = (): string[] => {
    const signs = listSigns(formData());
    if (signs.some((sign) => !warned.has(sign))) {
      if (current === 'signs') listening.answer({ signs });
      listening.warn(signs);
    }
    for (const sign of signs) warned.add(sign);
    noteWords.keep();
    return signs;
  };
  /**
   * Shows advice on the ticked signs.
   *
   * @returns whether the questions may continue
   */
  const adviseOnTicks = async (): Promise<boolean> => {
    const signs = warnOfTicks();
    if (signs.every((sign) => advised.has(sign))) return noteWords.check();
    for (const sign of signs) advised.add(sign);
    prompts.hush();
    return (await showSignAdvice(parts, listening, signs)) === 'other' && noteWords.check();
  };

  const how = await views.run<Asked>('check-in', { back: () => 'left' }, ({ element, signal, finish }) => {
    const show = () => {
      for (const question of form.querySelectorAll<HTMLElement>('[data-question]'))
        question.hidden = question.dataset.question !== current;
      const all = questionsFor(listening.answers);
      const number = all.indexOf(current) + 1;
      writeText(element, 'progress', words.say('question-of', { number, of: all.length }));
      writeText(element, 'problem', '');
      requireElement(element, '[data-do="back"]').hidden = number === 1;
      requireElement(element, '[data-do="say"]').hidden = promptOf[current] === null;
      markViewChange();
      window.scrollTo(0, 0);
      requireElement(form, `[data-question="${current}"] [data-heading]`).focus({ preventScroll: true });
    };
    const go = async (by: 1 | -1) => {
      if (!(await adviseOnTicks())) return finish('emergency');
      prompts.hush();
      const all = questionsFor(listening.answers);
      const next = all[all.indexOf(current) + by];
      if (next === undefined) return finish('through');
      current = next;
      show();
    };
    const keep = (answer: CheckInAnswers) => {
      listening.answer(answer);
      return go(1);
    };
    const say = () => {
      const prompt = promptOf[current];
      if (prompt !== null) prompts.say(listening.person.id, prompt);
    };

    form.addEventListener(
      'submit',
      (event) => {
        event.preventDefault();
        const answer = answerOf(current, formData());
        if (answer !== null) return keep(answer);
        writeText(element, 'problem', words.say('choose-one'));
      },
      { signal },
    );
    letNoneStandAlone(form, signal);
    noteWords.watch(form, signal);
    onPress(element, '[data-do="skip"]', signal, () => keep(skippedAnswer(current, formData())));
    onPress(element, '[data-do="back"]', signal, () => go(-1));
    onPress(element, '[data-do="leave"]', signal, () => finish('left'));
    onPress(element, '[data-do="say"]', signal, say);
    onPageHide(signal, warnOfTicks);
    window.addEventListener('pagehide', () => listening.tellAnswers(), { signal, capture: true });
    signal.addEventListener('abort', () => prompts.hush());
    writePatientLabel(parts, element, listening.person, 'for-name-words');
    show();
  });
  return (await adviseOnTicks()) ? how : 'emergency';
}

function thank({ views, prompts, courier, words }: Parts, { person }: Listening): Promise<void> {
  return views.run<void>('thanks', { back: () => undefined }, ({ element, signal, finish }) => {
    const isSent = () => !courier.hasUnsent(person.id);
    const show = () => writeText(element, 'told', words.say(isSent() ? 'answers-sent' : 'answers-unsent'));
    onPress(element, '[data-do="leave"]', signal, () => finish());
    courier.addEventListener('change', show, { signal });
    signal.addEventListener('abort', () => prompts.hush());
    show();
    // Spoken only once it is known, or almost certain.
    const say = () => {
      if (!signal.aborted) prompts.say(person.id, isSent() ? 'thanks' : 'thanks-unsent');
    };
    Promise.race([courier.send(), new Promise((resolve) => setTimeout(resolve, knownWithinMs))]).then(say);
  });
}

/** Makes "None of these" and the signs clear each other. */
function letNoneStandAlone(form: HTMLFormElement, signal: AbortSignal): void {
  const none = requireElement<HTMLInputElement>(form, 'input[name="no-sign"]');
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
