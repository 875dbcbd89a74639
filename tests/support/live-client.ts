import { once } from 'node:events';
import { setTimeout as sleep } from 'node:timers/promises';
import WebSocket from 'ws';

type Message = { readonly id?: string; readonly type: string; readonly payload?: unknown };

/** A bare client of the `graphql-transport-ws` protocol, so that tests see every message and every way of closing. */
export class LiveClient {
  readonly messages: Message[] = [];
  private readonly socket: WebSocket;
  private next = 0;
  /** Code and reason with which the socket was closed. */
  readonly closed: Promise<{ code: number; reason: string }>;

  constructor(url: string, options: { protocol?: string; path?: string } = {}) {
    const address = `${url.replace(/^http/, 'ws')}${options.path ?? '/graphql'}`;
    this.socket = new WebSocket(address, options.protocol ?? 'graphql-transport-ws');
    this.socket.on('message', (data: Buffer) => this.messages.push(JSON.parse(data.toString()) as Message));
    this.socket.on('error', () => undefined);
    this.closed = new Promise((resolve) => {
      this.socket.on('close', (code, reason) => resolve({ code, reason: reason.toString() }));
    });
  }

  /** Opens the socket and says who it is; resolves when the server has taken it. */
  async greet(token?: string): Promise<this> {
    if (this.socket.readyState === WebSocket.CONNECTING) await once(this.socket, 'open');
    this.send({ type: 'connection_init', payload: token === undefined ? {} : { authorization: `Bearer ${token}` } });
    await Promise.race([this.until(({ type }) => type === 'connection_ack'), this.closed]);
    return this;
  }

  send(message: object): void {
    this.socket.send(typeof message === 'string' ? message : JSON.stringify(message));
  }

  /** Subscribes and gives the id under which answers come. */
  subscribe(query: string, variables: object = {}): string {
    const id = String((this.next += 1));
    this.send({ id, type: 'subscribe', payload: { query, variables } });
    return id;
  }

  /** Resolves with the first message that fits, past or to come; throws after `patience` milliseconds. */
  async until(fits: (message: Message) => boolean, patience = 30_000): Promise<Message> {
    for (const end = Date.now() + patience; Date.now() < end; await sleep(10)) {
      const found = this.messages.find(fits);
      if (found !== undefined) return found;
    }
    throw new Error(`No such message came; what came: ${JSON.stringify(this.messages)}`);
  }

  /** Events of one subscription so far. */
  events<T>(id: string): T[] {
    return this.messages
      .filter((message) => message.id === id && message.type === 'next')
      .map(({ payload }) => (payload as { data: T }).data);
  }

  /** Resolves when a subscription has had so many events. */
  async hear<T>(id: string, count = 1, patience = 30_000): Promise<T[]> {
    for (const end = Date.now() + patience; Date.now() < end; await sleep(10)) {
      if (this.events(id).length >= count) return this.events<T>(id);
    }
    throw new Error(`${count} events were awaited; what came: ${JSON.stringify(this.messages)}`);
  }

  async close(): Promise<void> {
    this.socket.close(1000);
    await this.closed;
  }
}
