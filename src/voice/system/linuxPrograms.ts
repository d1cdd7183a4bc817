/** How the text-to-speech commands of Linux are asked for a WAV file. Text always goes to standard input. */
export type LinuxProgram = {
  name: string;
  args(request: { voice: string | null; wordsPerMinute: number; out: string }): string[];
};

/** Natural rate of the usual festival voice in words a minute; common practice, no published source. */
const festivalWordsPerMinute = 170;

function espeakArgs(request: { voice: string | null; wordsPerMinute: number; out: string }): string[] {
  const voice = request.voice === null ? [] : ['-v', request.voice];
  return [...voice, '-s', String(Math.round(request.wordsPerMinute)), '-w', request.out, '--stdin'];
}

/** In the order of preference. Options as in each program's manual page. */
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
