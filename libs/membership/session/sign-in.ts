import { Injectable } from '@nestjs/common';
import { decide, DomainError } from '../../kernel/index.js';
import { type AccessToken, AccessTokens, authenticate } from '../../platform/auth/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { beginSession } from './session.store.js';
import { SignInLimits } from './sign-in-limits.js';

/** From where somebody signs in. */
export type ClientFacts = { readonly address: string; readonly device: string | null };

/** A sign-in: a token for now, and one to renew it with. */
export type SignedIn = AccessToken & {
  readonly sessionId: string;
  readonly refreshToken: string;
  readonly refreshUntil: Date;
};

/** Exchanges e-mail address and password for a session. */
@Injectable()
export class SignIn {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly tokens: AccessTokens,
    private readonly limits: SignInLimits,
  ) {}

  /** Throws UNAUTHENTICATED with one text for a wrong password and an unknown address, RATE_LIMITED after too many of them. */
  async execute(
    command: { readonly email: string; readonly password: string },
    client: ClientFacts,
    requestId: string,
  ): Promise<SignedIn> {
    const tries = { email: command.email.trim().toLowerCase(), address: client.address };
    await this.limits.take(tries);
    const found = await authenticate('local', { body: command });
    if (found === null) throw new DomainError('UNAUTHENTICATED', 'E-mail address and password do not fit together.');
    await this.limits.succeed(tries);
    return this.begin(found.accountId, client, requestId);
  }

  /** Begins a session for an account that has shown who it is. */
  async begin(accountId: string, client: ClientFacts, requestId: string): Promise<SignedIn> {
    // No ledger entry: who signs in when is personal, and changes nothing of the registry.
    const session = await this.uow.writeAsServer(requestId, async (tx) =>
      decide(await beginSession(tx, { accountId, device: client.device })),
    );
    return { ...session, ...(await this.tokens.issue({ accountId, sessionId: session.sessionId })) };
  }
}
