import { Zip, ZipDeflate } from 'fflate';

/** Collected before it is handed on, so that small pieces do not each cost a call. */
const pieceBytes = 64 * 1024;

/** Puts files into one ZIP archive, piece by piece: only what is compressed already is held. */
export class ZipWriter {
  readonly #chunks: Uint8Array[] = [];
  readonly #zip: Zip;
  readonly #atMs: number;
  #failure: Error | null = null;

  /** @param atMs when its files are said to have been written */
  constructor(atMs: number) {
    this.#atMs = atMs;
    this.#zip = new Zip((error, chunk) => {
      if (error === null) this.#chunks.push(chunk);
      else this.#failure = error;
    });
  }

  /** Adds one file. @throws what its text throws; the archive is of no use then */
  async add(name: string, text: Iterable<string> | AsyncIterable<string>): Promise<void> {
    const file = new ZipDeflate(name, { level: 6 });
    file.mtime = this.#atMs;
    this.#zip.add(file);
    let waiting = '';
    for await (const part of text) {
      waiting += part;
      if (waiting.length < pieceBytes) continue;
      file.push(Buffer.from(waiting));
      waiting = '';
    }
    file.push(Buffer.from(waiting), true);
  }

  /** The whole archive; nothing is added afterwards. */
  end(): Buffer {
    this.#zip.end();
    if (this.#failure !== null) throw this.#failure;
    return Buffer.concat(this.#chunks);
  }
}
