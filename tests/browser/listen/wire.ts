import { connect, createServer, type Server, type Socket } from 'node:net';

/** The network between a phone and the service, on a port of its own, which can be slow and can be cut. */
export class Wire {
  readonly #server: Server;
  readonly #sockets = new Set<Socket>();
  /** How fast the phone is reached. */
  bytesPerSecond = Number.POSITIVE_INFINITY;
  #isCut = false;
  address = '';

  /** @param target where the service answers; asked for each connection, as it may be started anew */
  constructor(target: () => URL) {
    this.#server = createServer((phone) => {
      if (this.#isCut) return phone.destroy();
      const { hostname, port } = target();
      const service = connect(Number(port), hostname);
      for (const socket of [phone, service]) {
        this.#sockets.add(socket);
        socket.on('error', () => undefined);
        socket.on('close', () => {
          this.#sockets.delete(socket);
          phone.destroy();
          service.destroy();
        });
      }
      service.on('data', (data) => {
        phone.write(data);
        if (this.bytesPerSecond === Number.POSITIVE_INFINITY) return;
        service.pause();
        setTimeout(() => service.resume(), (data.length / this.bytesPerSecond) * 1_000);
      });
      service.on('end', () => phone.end());
      phone.pipe(service);
      return undefined;
    });
  }

  async open(): Promise<void> {
    await new Promise<void>((resolve) => this.#server.listen(0, '127.0.0.1', resolve));
    const address = this.#server.address();
    if (address === null || typeof address === 'string') throw new Error('no port');
    this.address = `http://127.0.0.1:${address.port}`;
  }

  cut(): void {
    this.#isCut = true;
    for (const socket of this.#sockets) socket.destroy();
  }

  mend(): void {
    this.#isCut = false;
    this.bytesPerSecond = Number.POSITIVE_INFINITY;
  }

  async close(): Promise<void> {
    this.cut();
    await new Promise((resolve) => this.#server.close(resolve));
  }
}
