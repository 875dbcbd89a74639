import { Injectable } from '@nestjs/common';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';

/**
 * Wrong passwords before one has to wait. The longer somebody goes on, the longer the wait: a minute, a quarter of an hour, a
 * day. They are counted by account and client address together, so that a stranger cannot lock a person out; far looser
 * ones count an account from everywhere, and an address over all accounts.
 */
const TOGETHER: readonly RateLimit[] = [
  { name: 'sign-in-minute', times: 5, seconds: 60 },
  { name: 'sign-in-quarter', times: 12, seconds: 15 * 60 },
  { name: 'sign-in-day', times: 40, seconds: 86_400 },
];
const ACCOUNT: RateLimit = { name: 'sign-in-account', times: 200, seconds: 86_400 };
const ADDRESS: RateLimit = { name: 'sign-in-address', times: 300, seconds: 3_600 };

/** Tries of one person at one client. */
export type Tries = { readonly email: string; readonly address: string };

/** Slows down guessing of passwords. */
@Injectable()
export class SignInLimits {
  constructor(private readonly limits: RateLimits) {}

  /** Counts a try, before the password is looked at: many at once are counted too. Throws RATE_LIMITED. */
  async take({ email, address }: Tries): Promise<void> {
    await this.limits.take(ADDRESS, address);
    await this.limits.take(ACCOUNT, email);
    for (const limit of TOGETHER) await this.limits.take(limit, `${email} ${address}`);
  }

  /** The password was right: what was counted for this person here is forgotten, the looser counts give their one back. */
  async succeed({ email, address }: Tries): Promise<void> {
    await this.limits.giveBack(ADDRESS, address);
    await this.limits.giveBack(ACCOUNT, email);
    for (const limit of TOGETHER) await this.limits.forget(limit, `${email} ${address}`);
  }
}
