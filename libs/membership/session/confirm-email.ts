import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, invalidInput, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { mailCode, useCode } from '../store/account-code.store.js';

const MAILS: RateLimit = { name: 'confirm-mails', times: 5, seconds: 3_600 };

const emailConfirmed = defineLedgerAction('account.email-confirmed', 1, z.strictObject({ accountId: z.uuid() }));

/** Shows that mails to the own address reach the person. Until then the registry sends it nothing but this code. */
@Injectable()
export class ConfirmEmail {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly limits: RateLimits,
  ) {}

  /**
   * Mails a new code. INVALID_INPUT where the account has another address, EMAIL_CONFIRMED where there is nothing to confirm
   * any more, RATE_LIMITED.
   */
  async request(viewer: Viewer, email: string): Promise<{ accountId: string }> {
    await this.limits.take(MAILS, viewer.accountId);
    return this.uow.writeAsServer(viewer.requestId, async (tx) => {
      const account = await tx.db.account.findUniqueOrThrow({ where: { id: viewer.accountId } });
      if (account.email !== email) {
        const message = 'Your account has another address.';
        throw invalidInput([{ path: 'input.email', message, remedy: `It is ${account.email}.` }]);
      }
      if (account.emailConfirmedAt !== null) return refuse('EMAIL_CONFIRMED', 'Your address is confirmed.');
      await mailCode(tx, viewer.accountId, 'confirm_email');
      return decide({ accountId: viewer.accountId });
    });
  }

  /** Takes the code from the mail. CODE_NOT_GOOD for one that is unknown, used, too old or another account's. */
  async execute(viewer: Viewer, code: string): Promise<{ accountId: string }> {
    return this.uow.writeAsServer(viewer.requestId, async (tx) => {
      if ((await useCode(tx, code, 'confirm_email')) !== viewer.accountId)
        return refuse('CODE_NOT_GOOD', 'This code is not good, or not any more. Ask for a new one.');
      await tx.db.account.update({ where: { id: viewer.accountId }, data: { emailConfirmedAt: tx.now } });
      await tx.ledger.append(emailConfirmed, {
        subjects: [viewer.accountId],
        body: { accountId: viewer.accountId },
      });
      return decide({ accountId: viewer.accountId });
    });
  }
}
