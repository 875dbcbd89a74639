import { Injectable } from '@nestjs/common';
import { JwtService } from '@nestjs/jwt';

/** Seconds an access token is valid. */
export const ACCESS_TOKEN_SECONDS = 8 * 60 * 60;

/** A bearer token and the moment it lapses. */
export type AccessToken = { readonly token: string; readonly expiresAt: Date };

/** Issues the tokens that `JwtStrategy` accepts. */
@Injectable()
export class AccessTokens {
  constructor(private readonly jwt: JwtService) {}

  async issue(accountId: string): Promise<AccessToken> {
    const token = await this.jwt.signAsync({ sub: accountId }, { expiresIn: ACCESS_TOKEN_SECONDS });
    return { token, expiresAt: new Date(Date.now() + ACCESS_TOKEN_SECONDS * 1000) };
  }
}
