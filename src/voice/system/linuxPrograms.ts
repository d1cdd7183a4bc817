/** How to get a WAV file from a text-to-speech command of Linux. Text always goes to standard input. */
export type LinuxProgram = {
  name: string;
  args(request: { voice: string | null; wordsPerMinute: number; out: string }): string[];
};

/**
 * Natural rate of festival's default voice (kal_diphone 2.4) in words per minute: 182 words of fifteen instructions
 * took 49.1 s, from the first to the last sound of each, pauses at commas included. At stretches of 1.3 and 1.6, rate
 * times stretch stays within 0.5 %.
 */
const festivalWordsPerMinute = 222;

function espeakArgs(request: { voice: string | null; wordsPerMinute: number; out: string }): string[] {
  const voice = request.voice === null ? [] : ['-v', request.voice];
  return [...voice, '-s', String(Math.round(request.wordsPerMinute)), '-w', request.out, '--stdin'];
}

/** In order of preference. Options are as in each program's manual page. */
export const linuxPrograms: readonly LinuxProgram[] = [
  { name: 'espeak-ng', args: espeakArgs },
  { name: 'espeak', args: espeakArgs },
  {
    name: 'text2wave',
    args: ({ voice, wordsPerMinute, out }) => {
      const stretch = (festivalWordsPerMinute / wordsPerMinute).toFixed(3);
      const select = voice === null ? [] : ['-eval', `(voice_${voice})`];
      return [...select, '-eval', `(Parameter.set 'Duration_Stretch ${stretch})`, '-o', out];
    },
  },
];
