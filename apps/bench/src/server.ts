import 'reflect-metadata';
import { fastify } from 'fastify';
import pg from 'pg';
import { readConfig } from '../../../libs/platform/config/index.js';
import { createApp } from '../../api/src/create-app.js';
import { type Statement } from './statements.js';

/** A server in a process of its own, so that it has a core while it is asked. Tells its port to the parent, ends with it. */
async function main(kind: string | undefined): Promise<void> {
  const port = kind === 'api' ? await serveApi() : await serveBare();
  process.on('disconnect', () => process.exit(0));
  process.send?.({ port });
}

async function serveApi(): Promise<number> {
  const app = await createApp(readConfig(process.env));
  await app.listen(0, '127.0.0.1');
  return Number(new URL(await app.getUrl()).port);
}

/** Fastify and nothing else: POST /0, /1 … runs the statements of that list one after the other and answers their rows. */
async function serveBare(): Promise<number> {
  const lists = await new Promise<Statement[][]>((resolve) =>
    process.once('message', (lists) => resolve(lists as Statement[][])),
  );
  const pool = new pg.Pool({ connectionString: readConfig(process.env).databaseUrl, max: 10 });
  const server = fastify();
  for (const [place, statements] of lists.entries()) {
    server.post(`/${place}`, async () => {
      const answers: unknown[] = [];
      for (const { text, values } of statements) answers.push((await pool.query(text, [...values])).rows);
      return { data: answers };
    });
  }
  return Number(new URL(await server.listen({ port: 0, host: '127.0.0.1' })).port);
}

await main(process.argv[2]);
