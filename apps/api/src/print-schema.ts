import 'reflect-metadata';
import { rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { lexicographicSortSchema, printSchema } from 'graphql';
import { readConfig } from '../../../libs/platform/config/index.js';
import { createApp } from './create-app.js';

const HEADER = '# Written by `npm run schema`; a client may rely on it. Do not edit by hand.\n\n';

/** The SDL of the real module graph. No database is asked: Prisma connects on the first query, and there is none. */
export async function printCurrentSchema(): Promise<string> {
  const secretFile = join(tmpdir(), `kithbook-schema-secret-${process.pid}`);
  writeFileSync(secretFile, 'only for printing the schema, signs nothing');
  const app = await createApp(
    readConfig({ DATABASE_URL: 'postgresql://127.0.0.1:1/none', AUTH_SECRET_FILE: secretFile }),
  );
  try {
    await app.init();
    return `${HEADER}${printSchema(lexicographicSortSchema(app.get(GraphQLSchemaHost).schema))}\n`;
  } finally {
    await app.close();
    rmSync(secretFile);
  }
}
