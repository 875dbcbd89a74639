import { randomUUID } from 'node:crypto';
import helmet from '@fastify/helmet';
import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import { Viewers } from '../../../libs/membership/index.js';
import { type Config } from '../../../libs/platform/config/index.js';
import { RegistryLogger } from '../../../libs/platform/log/index.js';
import { AppModule } from './app.module.js';

/** Largest request body in bytes; files have routes of their own. */
const BODY_LIMIT = 256 * 1024;

/** Builds the API without listening, for `main` and for tests. */
export async function createApp(config: Config, schemaFile: string | true = true): Promise<NestFastifyApplication> {
  const adapter = new FastifyAdapter({
    genReqId: () => randomUUID(),
    bodyLimit: BODY_LIMIT,
    // Limits count by address: one that a proxy on a private network passes on is the client's, one a stranger writes is not.
    trustProxy: ['loopback', 'linklocal', 'uniquelocal'],
  });
  const app = await NestFactory.create<NestFastifyApplication>(AppModule.with(config, schemaFile), adapter, {
    logger: new RegistryLogger(),
    abortOnError: false,
  });
  await app.register(helmet);
  const viewers = app.get(Viewers, { strict: false });
  const fastify = adapter.getInstance();
  fastify.decorateRequest('viewer', null);
  fastify.addHook('preHandler', async (request) => {
    request.viewer = await viewers.of(request);
  });
  app.enableShutdownHooks();
  return app;
}
