import { Injectable } from '@nestjs/common';
import { decide, notFound, type Viewer } from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { endSessions } from './session.store.js';

/** Ends sign-ins of the own account. Their access tokens are refused from then on. */
@Injectable()
export class EndSession {
  constructor(private readonly uow: UnitOfWork) {}

  /** Ends one: the one in use, or another of the own account (a lost telephone). NOT_FOUND where none is open. */
  async execute(viewer: Viewer, sessionId: string): Promise<{ sessionId: string }> {
    await this.uow.writeAsServer(viewer.requestId, async (tx) => {
      const endedBy = sessionId === viewer.sessionId ? 'signed_out' : 'revoked';
      const ended = await endSessions(tx, viewer.accountId, { only: sessionId }, endedBy);
      if (ended === 0) throw notFound('session');
      return decide(null);
    });
    return { sessionId };
  }
}
