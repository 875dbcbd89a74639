import { fork } from 'node:child_process';
import { once } from 'node:events';
import http from 'node:http';
import { join } from 'node:path';
import { type Statement } from './statements.js';
import { percentile } from './timing.js';

/** A server process to be asked. */
export type Server = { readonly port: number; stop(): Promise<void> };

/** Starts the API, or a bare Fastify over lists of statements, in a process of its own. */
export async function startServer(kind: 'api' | readonly (readonly Statement[])[]): Promise<Server> {
  const child = fork(join(import.meta.dirname, 'server.js'), [kind === 'api' ? 'api' : 'bare']);
  if (kind !== 'api') child.send(kind);
  const port = await new Promise<number>((resolve, reject) => {
    child.once('message', (message) => resolve((message as { port: number }).port));
    child.once('exit', (code) => reject(new Error(`The server ended with code ${code} before it listened.`)));
  });
  return {
    port,
    stop: async () => {
      const ended = once(child, 'exit');
      child.disconnect();
      await ended;
    },
  };
}

/** A request of one client: where, and as whom. */
export type Call = { readonly path: string; readonly body: object; readonly token?: string };

/** Asks once; gives the body. Throws unless the answer is 200 and holds data without errors. */
export async function ask(agent: http.Agent, port: number, { path, body, token }: Call): Promise<string> {
  const authorization = token === undefined ? {} : { authorization: `Bearer ${token}` };
  const request = http.request({
    agent,
    port,
    host: '127.0.0.1',
    path,
    method: 'POST',
    headers: { 'content-type': 'application/json', ...authorization },
  });
  request.end(JSON.stringify(body));
  const [response] = (await once(request, 'response')) as [http.IncomingMessage];
  const chunks: Buffer[] = [];
  for await (const chunk of response) chunks.push(chunk as Buffer);
  const text = Buffer.concat(chunks).toString();
  if (response.statusCode !== 200 || (!text.startsWith('{"data":{') && !text.startsWith('{"data":['))) {
    throw new Error(`${path} answered ${response.statusCode}: ${text.slice(0, 300)}`);
  }
  return text;
}

/** What a load came to. */
export type Load = { readonly perSecond: number; readonly p50: number; readonly p95: number; readonly bytes: number };

/** Every client asks its calls one after the other, all clients at once; as often as `calls`, or for `seconds`. */
export async function load(
  port: number,
  clients: readonly Call[],
  until: { readonly calls: number } | { readonly seconds: number },
): Promise<Load> {
  const agent = new http.Agent({ keepAlive: true });
  const times: number[] = [];
  let bytes = 0;
  const started = performance.now();
  const goesOn = (done: number): boolean =>
    'calls' in until ? done < until.calls : performance.now() - started < until.seconds * 1000;
  await Promise.all(
    clients.map(async (call) => {
      for (let done = 0; goesOn(done); done++) {
        const asked = performance.now();
        bytes = (await ask(agent, port, call)).length;
        times.push(performance.now() - asked);
      }
    }),
  );
  const seconds = (performance.now() - started) / 1000;
  agent.destroy();
  return { perSecond: times.length / seconds, p50: percentile(times, 0.5), p95: percentile(times, 0.95), bytes };
}
