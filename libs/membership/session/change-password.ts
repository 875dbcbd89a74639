import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { hashPassword, passwordFits } from '../../platform/auth/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { mailCode, useCode } from '../store/account-code.store.js';
import { endSessions } from './session.store.js';

const TRIES: RateLimit = { name: 'change-password', times: 10, seconds: 3_600 };
const MAILS_TO_ACCOUNT: RateLimit = { name: 'reset-mails', times: 3, seconds: 3_600 };
const ASKED_FROM_ADDRESS: RateLimit = { name: 'reset-asked', times: 20, seconds: 3_600 };

const passwordChanged = defineLedgerAction(
  'account.password-changed',
  1,
  z.strictObject({ accountId: z.uuid(), by: z.enum(['password', 'mailed_code']) }),
);

/** Sets a new password, by the old one or by a mailed code. Whoever else is signed in with the account has to sign in again. */
@Injectable()
export class ChangePassword {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly limits: RateLimits,
  ) {}

  /** By the old password; the session in use goes on. PASSWORD_WRONG, RATE_LIMITED. */
  async execute(viewer: Viewer, command: { current: string; next: string }): Promise<{ accountId: string }> {
    await this.limits.take(TRIES, viewer.accountId);
    const passwordHash = await hashPassword(command.next);
    return this.uow.writeAsServer(viewer.requestId, async (tx) => {
      const account = await tx.db.account.findUniqueOrThrow({ where: { id: viewer.accountId } });
      if (!(await passwordFits(account.passwordHash, command.current)))
        return refuse('PASSWORD_WRONG', 'This is not your present password.');
      await this.set(tx, viewer.accountId, passwordHash, 'password', viewer.sessionId ?? null);
      return decide({ accountId: viewer.accountId });
    });
  }

  /** Mails a code to the address, where an account has it. The caller learns nothing of that. RATE_LIMITED by client address. */
  async requestReset(email: string, address: string, requestId: string): Promise<void> {
    await this.limits.take(ASKED_FROM_ADDRESS, address);
    // An address that is asked about too often gets no more mails, and the answer is still the same.
    const allowed = await this.limits.take(MAILS_TO_ACCOUNT, email).then(
      () => true,
      () => false,
    );
    await this.uow.writeAsServer(requestId, async (tx) => {
      const account = await tx.db.account.findUnique({ where: { email }, select: { id: true } });
      if (account !== null && allowed) await mailCode(tx, account.id, 'reset_password');
      return decide(null);
    });
  }

  /** By the code from the mail, which also shows that the address is read. CODE_NOT_GOOD. */
  async reset(command: { code: string; next: string }, requestId: string): Promise<void> {
    const passwordHash = await hashPassword(command.next);
    await this.uow.writeAsServer(requestId, async (tx) => {
      const accountId = await useCode(tx, command.code, 'reset_password');
      if (accountId === null)
        return refuse('CODE_NOT_GOOD', 'This code is not good, or not any more. Ask for a new one.');
      await tx.db.account.updateMany({
        where: { id: accountId, emailConfirmedAt: null },
        data: { emailConfirmedAt: tx.now },
      });
      await this.set(tx, accountId, passwordHash, 'mailed_code', null);
      return decide(null);
    });
  }

  private async set(
    tx: Tx,
    accountId: string,
    passwordHash: string,
    by: 'password' | 'mailed_code',
    keepSession: string | null,
  ): Promise<void> {
    await tx.db.account.update({ where: { id: accountId }, data: { passwordHash } });
    await endSessions(tx, accountId, { allBut: keepSession }, 'password_changed');
    await tx.ledger.append(passwordChanged, { subjects: [accountId], body: { accountId, by } });
  }
}
