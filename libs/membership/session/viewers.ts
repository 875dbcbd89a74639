import { randomUUID } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import { type Viewer } from '../../kernel/index.js';
import { authenticate } from '../../platform/auth/index.js';
import { sha256Hex } from '../../platform/canonical.js';
import { AccountStore } from '../store/account.store.js';

/** Longest Idempotency-Key that is kept as it is; of a longer one the hash, so that two that begin alike stay two. */
const MAX_KEY = 200;

/** Builds the viewer of a request, once, before anything else looks at it. */
@Injectable()
export class Viewers {
  constructor(private readonly accounts: AccountStore) {}

  /** Null when the request carries no valid token, or one of a session that is over. */
  async of(request: { id: string; headers: Record<string, unknown> }): Promise<Viewer | null> {
    if (request.headers['authorization'] === undefined) return null;
    const principal = await authenticate('jwt', { headers: request.headers });
    if (principal?.sessionId === undefined) return null;
    const { accountId, sessionId } = principal;
    const facts = await this.accounts.findViewerFacts(accountId, sessionId);
    if (facts === null) return null;
    const key = request.headers['idempotency-key'];
    return Object.freeze({
      ...facts,
      sessionId,
      requestId: request.id,
      ...(typeof key === 'string' && key.length > 0
        ? { idempotencyKey: key.length > MAX_KEY ? sha256Hex(key) : key }
        : {}),
    });
  }

  /** The viewer of a live query as they are now: acts for others meanwhile, or not any more. Null when the session is over. */
  async again({ idempotencyKey: _, ...viewer }: Viewer): Promise<Viewer | null> {
    const facts = await this.accounts.findViewerFacts(viewer.accountId, viewer.sessionId ?? null);
    return facts === null ? null : Object.freeze({ ...viewer, ...facts, requestId: randomUUID() });
  }
}
