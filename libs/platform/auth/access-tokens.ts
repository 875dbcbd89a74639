import { Injectable } from '@nestjs/common';
import { JwtService } from '@nestjs/jwt';
import { type Principal } from './authenticate.js';

/** Seconds an access token is valid: short, because the refresh token gives the next one. */
export const ACCESS_TOKEN_SECONDS = 15 * 60;

/** A bearer token and the moment it lapses. */
export type AccessToken = { readonly token: string; readonly expiresAt: Date };

/** Issues the tokens that `JwtStrategy` accepts. */
@Injectable()
export class AccessTokens {
  constructor(private readonly jwt: JwtService) {}

  /** A token of one session; it is refused as soon as the session has ended. */
  async issue({ accountId, sessionId }: Required<Principal>): Promise<AccessToken> {
    const token = await this.jwt.signAsync({ sub: accountId, sid: sessionId }, { expiresIn: ACCESS_TOKEN_SECONDS });
    return { token, expiresAt: new Date(Date.now() + ACCESS_TOKEN_SECONDS * 1000) };
  }

  /** When a token lapses, by its own word: whether it is good at all is the strategy's to say. Null where it does not tell. */
  lapsesAt(token: string): Date | null {
    const claims: unknown = this.jwt.decode(token);
    const { exp } = (claims ?? {}) as { exp?: unknown };
    return typeof exp === 'number' ? new Date(exp * 1000) : null;
  }
}
