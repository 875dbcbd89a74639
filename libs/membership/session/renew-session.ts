import { Injectable } from '@nestjs/common';
import { decide, DomainError } from '../../kernel/index.js';
import { AccessTokens } from '../../platform/auth/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideRenewal } from './session.core.js';
import { endSessions, lockByRefreshToken, renewSession } from './session.store.js';
import { type SignedIn } from './sign-in.js';

/** Exchanges a refresh token for the next one. A token that comes again is a copy in other hands: the session ends for both. */
@Injectable()
export class RenewSession {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly tokens: AccessTokens,
  ) {}

  /** Throws UNAUTHENTICATED with one text for a token that is unknown, used up or of a session that is over. */
  async execute(refreshToken: string, requestId: string): Promise<SignedIn> {
    const renewed = await this.uow.writeAsServer(requestId, async (tx) => {
      const session = await lockByRefreshToken(tx, refreshToken);
      if (session === null) return decide(null);
      const { sessionId, accountId } = session;
      const renewal = decideRenewal(session, tx.now);
      if (renewal === 'over') return decide(null);
      if (renewal === 'end_as_copied') {
        // Committed, not refused: the session must end although the caller is told no.
        await endSessions(tx, accountId, { only: sessionId }, 'token_reused');
        return decide(null);
      }
      return decide({ accountId, sessionId, ...(await renewSession(tx, sessionId)) });
    });
    if (renewed === null) throw new DomainError('UNAUTHENTICATED', 'This sign-in is over. Sign in again.');
    const { accountId, ...session } = renewed;
    return { ...session, ...(await this.tokens.issue({ accountId, sessionId: session.sessionId })) };
  }
}
