import { Injectable } from '@nestjs/common';
import { PassportStrategy } from '@nestjs/passport';
import { Strategy } from 'passport-local';
import { passwordFits, type Principal } from '../../platform/auth/index.js';
import { AccountStore } from '../store/account.store.js';

/** Passport strategy `local`: e-mail address and password. Gives the account. */
@Injectable()
export class LocalStrategy extends PassportStrategy(Strategy, 'local') {
  constructor(private readonly accounts: AccountStore) {
    super({ usernameField: 'email', passwordField: 'password' });
  }

  async validate(email: string, password: string): Promise<Principal | false> {
    const account = await this.accounts.findForSignIn(email.trim().toLowerCase());
    const fits = await passwordFits(account?.passwordHash ?? null, password);
    return fits && account !== null ? { accountId: account.id } : false;
  }
}
