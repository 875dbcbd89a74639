import { Injectable } from '@nestjs/common';
import { PassportStrategy } from '@nestjs/passport';
import { Strategy } from 'passport-local';
import { passwordFits } from '../../platform/auth/index.js';
import { AccountStore } from '../store/account.store.js';

/** Passport strategy `local`: e-mail address and password. Gives the account id. */
@Injectable()
export class LocalStrategy extends PassportStrategy(Strategy, 'local') {
  constructor(private readonly accounts: AccountStore) {
    super({ usernameField: 'email', passwordField: 'password' });
  }

  async validate(email: string, password: string): Promise<string | false> {
    const account = await this.accounts.findForSignIn(email.trim().toLowerCase());
    return (await passwordFits(account?.passwordHash ?? null, password)) && account !== null ? account.id : false;
  }
}
