import { type IncomingMessage } from 'node:http';
import { type WebSocket as ProtocolSocket } from 'graphql-ws';
import { type WebSocket } from 'ws';
import { type Viewer } from '../../kernel/index.js';
import { CLOSED, MESSAGES_MS, MOST_MESSAGES, PING_MS } from './live-limits.js';

type Goodbye = (typeof CLOSED)[keyof typeof CLOSED];

/** One socket: whom it belongs to, how long it may stay, and whether there is still somebody at its other end. */
export class LiveSocket implements ProtocolSocket {
  readonly protocol: string;
  readonly address: string;
  readonly device: string | null;
  /** Null until it has said who it is. */
  viewer: Viewer | null = null;
  private readonly closed: Promise<void>;
  private answered = true;
  private messages = 0;
  private lapse: NodeJS.Timeout | undefined;
  private readonly pings: NodeJS.Timeout;
  private readonly counts: NodeJS.Timeout;

  constructor(
    private readonly socket: WebSocket,
    request: IncomingMessage,
  ) {
    this.protocol = socket.protocol;
    this.address = request.socket.remoteAddress ?? '';
    this.device = request.headers['user-agent']?.slice(0, 200) ?? null;
    // A message that is too large, or not of the protocol: the library has closed the socket already.
    socket.on('error', () => undefined);
    socket.on('pong', () => (this.answered = true));
    this.closed = new Promise((resolve) => socket.once('close', () => resolve()));
    this.pings = setInterval(() => this.ping(), PING_MS);
    this.counts = setInterval(() => (this.messages = 0), MESSAGES_MS);
  }

  /** It is this person's, for `left` milliseconds. */
  belongTo(viewer: Viewer, left: number): void {
    this.viewer = viewer;
    this.lapse = setTimeout(() => void this.end(CLOSED.lapsed), left);
  }

  send(data: string): Promise<void> {
    return new Promise((resolve, reject) => {
      if (this.socket.readyState !== this.socket.OPEN) resolve();
      else this.socket.send(data, (error) => (error ? reject(error) : resolve()));
    });
  }

  close(code?: number, reason?: string): void {
    this.socket.close(code, reason);
  }

  onMessage(take: (data: string) => Promise<void>): void {
    this.socket.on('message', (data: Buffer) => {
      this.messages += 1;
      if (this.messages > MOST_MESSAGES) void this.end(CLOSED.tooMany);
      else take(data.toString()).catch(() => this.end(CLOSED.trouble));
    });
  }

  /** Says goodbye; resolves, to false, when the socket is closed. */
  async end([code, reason]: Goodbye): Promise<false> {
    this.socket.close(code, reason);
    await this.closed;
    return false;
  }

  /** Stops its clocks. */
  forget(): void {
    clearInterval(this.pings);
    clearInterval(this.counts);
    clearTimeout(this.lapse);
  }

  private ping(): void {
    if (!this.answered) return this.socket.terminate();
    this.answered = false;
    this.socket.ping();
  }
}
