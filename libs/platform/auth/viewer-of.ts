import { unauthenticated, type Viewer } from '../../kernel/index.js';

declare module 'fastify' {
  interface FastifyRequest {
    /** Set by the API's request hook before any handler runs; null when nobody is signed in. */
    viewer: Viewer | null;
  }
}

/** The signed-in viewer of a request. Throws UNAUTHENTICATED when there is none. */
export function viewerOf(request: { readonly viewer: Viewer | null }): Viewer {
  if (request.viewer === null) throw unauthenticated();
  return request.viewer;
}
