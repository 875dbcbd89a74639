import 'reflect-metadata';
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type NestFastifyApplication } from '@nestjs/platform-fastify';
import request from 'supertest';
import { createApp } from '../../apps/api/src/create-app.js';
import { Clock } from '../../libs/platform/clock.js';
import { readConfig } from '../../libs/platform/config/index.js';
import { createTestDatabase } from './template-db.js';

/** One error of a GraphQL answer, as clients see it. */
export type GraphqlError = {
  message: string;
  path?: (string | number)[];
  extensions: {
    code: string;
    rule?: string;
    fields: { path: string; message: string; remedy: string }[];
    blockers: { kind: string; id: string; remedy: string }[];
    requestId: string;
  };
};

/** A GraphQL answer. Tests name the shape they expect of `data`. */
export type Answer<T> = { status: number; data: T | null; errors?: GraphqlError[] };

/** The real API over a database of its own. */
export type TestApp = {
  readonly app: NestFastifyApplication;
  readonly databaseUrl: string;
  /** Sends one document, as nobody or with a token; `headers` may carry an Idempotency-Key. */
  ask<T>(query: string, variables?: object, token?: string, headers?: Record<string, string>): Promise<Answer<T>>;
  /** The same, failing the test when there are errors. */
  get<T>(query: string, variables?: object, token?: string, headers?: Record<string, string>): Promise<T>;
  /** Sets the server's clock to noon UTC of a day, or lets it run again. */
  setDay(day: string | null): void;
  http(): ReturnType<typeof request>;
  close(): Promise<void>;
};

/** Starts the API on a copy of the migrated template. Call `close` in `afterAll`. */
export async function startTestApp(): Promise<TestApp> {
  const database = await createTestDatabase();
  const folder = mkdtempSync(join(tmpdir(), 'kithbook-test-'));
  const secretFile = join(folder, 'auth-secret');
  writeFileSync(secretFile, randomBytes(32).toString('hex'));
  const config = readConfig({
    PORT: '0',
    PUBLIC_URL: 'http://kithbook.test',
    DATABASE_URL: database.url,
    AUTH_SECRET_FILE: secretFile,
    DATA_DIR: folder,
  });
  const app = await createApp(config);
  await app.init();
  await app.getHttpAdapter().getInstance().ready();
  const clock = app.get(Clock, { strict: false });
  const http = () => request(app.getHttpServer());

  const ask = async <T>(
    query: string,
    variables: object = {},
    token?: string,
    headers: Record<string, string> = {},
  ): Promise<Answer<T>> => {
    const sent = http().post('/graphql').set(headers);
    if (token !== undefined) void sent.set('authorization', `Bearer ${token}`);
    const answer = await sent.send({ query, variables });
    return { status: answer.status, ...(answer.body as { data: T | null; errors?: GraphqlError[] }) };
  };
  return {
    app,
    databaseUrl: database.url,
    ask,
    get: async (query, variables, token, headers) => {
      const answer = await ask<never>(query, variables, token, headers);
      if (answer.errors !== undefined || answer.data === null)
        throw new Error(`GraphQL answered ${JSON.stringify(answer.errors)}`);
      return answer.data;
    },
    setDay: (day) => {
      clock.now = () => (day === null ? new Date() : new Date(`${day}T12:00:00Z`));
    },
    http,
    close: async () => {
      await app.close();
      await database.drop();
      rmSync(folder, { recursive: true });
    },
  };
}
