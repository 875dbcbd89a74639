import { type FastifyInstance, errorCodes } from 'fastify';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The handler reads the body itself, as a stream, and keeps its own limit. */
    rawBody?: boolean;
  }
}

/**
 * Lets routes that declare `rawBody` read their body as a stream. Every other route refuses what it has no parser for, as it
 * did before, and keeps its limit.
 */
export function allowRawBodies(fastify: FastifyInstance): void {
  fastify.addContentTypeParser('*', (request, payload, done) => {
    if (request.routeOptions.config.rawBody === true) done(null, payload);
    else done(new errorCodes.FST_ERR_CTP_INVALID_MEDIA_TYPE(request.headers['content-type']));
  });
}
