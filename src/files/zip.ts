import { Zip, ZipDeflate } from 'fflate';

/** Pieces are collected up to this size, so that small ones do not each cost a call. */
const pieceBytes = 64 * 1024;

/** Writes files into one ZIP archive, piece by piece; only compressed data are held in memory. */
export class ZipWriter {
  readonly #chunks: Uint8Array[] = [];
  readonly #zip: Zip;
  readonly #atMs: number;
  #failure: Error | null = null;

  /**
   * @param atMs the modification time to record for its files
   */
  constructor(atMs: number) {
    this.#atMs = atMs;
    this.#zip = new Zip((error, chunk) => {
      if (error === null) this.#chunks.push(chunk);
      else this.#failure = error;
    });
  }

  /** Adds one file. @throws anything that its text throws; the archive is then unusable */
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

  /** Returns the whole archive; nothing can be added afterward. */
  end(): Buffer {
    this.#zip.end();
    if (this.#failure !== null) throw this.#failure;
    return Buffer.concat(this.#chunks);
  }
}
