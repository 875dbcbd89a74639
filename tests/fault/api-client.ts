import { setTimeout as sleep } from 'node:timers/promises';

type Answer = { data?: unknown; errors?: { message: string; extensions?: { code?: string } }[] };

/** Milliseconds until a request without an answer is sent again. */
const PATIENCE = 15_000;
const PAUSE = 100;

/** One mutation with the key that makes it happen once. */
export type Mutation = {
  readonly token: string;
  readonly key: string;
  readonly document: string;
  readonly input: object;
};

/** Talks to an API that may be killed at any moment: what is not answered is sent again, with the same key. */
export class ApiClient {
  /** How often a request was sent again. */
  retries = 0;

  constructor(private readonly url: string) {}

  /** The `data` of the answer. Throws on an error of the API that is not passing, and when `signal` ends the waiting. */
  async mutate({ token, key, document, input }: Mutation, signal: AbortSignal): Promise<unknown> {
    for (;;) {
      const answer = await this.send(document, input, { authorization: `Bearer ${token}`, 'idempotency-key': key });
      const [error] = answer?.errors ?? [];
      if (error === undefined && answer?.data !== undefined) return answer.data;
      // Busy: nothing was written. Without an answer: it may have been, which only the same key can tell.
      if (error !== undefined && error.extensions?.code !== 'BUSY') {
        throw new Error(`${error.extensions?.code ?? 'no code'}: ${error.message}`);
      }
      this.retries += 1;
      await sleep(PAUSE, undefined, { signal });
    }
  }

  /** One try; undefined when the API is not there, or goes away before it has answered. */
  async send(document: string, input: object, headers: Record<string, string> = {}): Promise<Answer | undefined> {
    try {
      const response = await fetch(this.url, {
        method: 'POST',
        headers: { 'content-type': 'application/json', ...headers },
        body: JSON.stringify({ query: document, variables: { input } }),
        signal: AbortSignal.timeout(PATIENCE),
      });
      return (await response.json()) as Answer;
    } catch {
      return undefined;
    }
  }
}
