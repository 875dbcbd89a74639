import { Injectable } from '@nestjs/common';
import { DomainError } from '../../kernel/index.js';
import { type AccessToken, AccessTokens, authenticate } from '../../platform/auth/index.js';

/** Exchanges e-mail address and password for an access token. */
@Injectable()
export class SignIn {
  constructor(private readonly tokens: AccessTokens) {}

  /** Throws UNAUTHENTICATED with one text for a wrong password and an unknown address. */
  async execute(command: { email: string; password: string }): Promise<AccessToken> {
    const accountId = await authenticate('local', { body: command });
    if (accountId === null)
      throw new DomainError('UNAUTHENTICATED', 'E-mail address and password do not fit together.');
    return this.tokens.issue(accountId);
  }
}
