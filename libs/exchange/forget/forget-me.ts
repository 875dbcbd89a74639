import { randomBytes } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, refuse, type Viewer } from '../../kernel/index.js';
import { AccountStore, endOfficesOutsideClubs, SignInLimits } from '../../membership/index.js';
import { hashPassword, passwordFits } from '../../platform/auth/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideForget } from './forget.core.js';
import { ForgetStore } from './forget.store.js';
import { HASHES_A_MESSAGE, removeFiles } from './remove-files.job.js';

export const forgetMeCommand = z.object({ password: z.string().max(200) });

const outcome = z.object({ accountId: z.uuid(), keeperIds: z.array(z.uuid()) });

const forgotten = defineLedgerAction(
  'account.forgotten',
  1,
  z.strictObject({ accountId: z.uuid(), keeperIds: z.array(z.uuid()) }),
);

/**
 * Forgets a person: address, sign-ins, mails and words go, and of every keeper that has no other owner also its name, region, notes,
 * files and correspondence. Animals, their parents and who had them when stay: other people's records rest on them.
 */
@Injectable()
export class ForgetMe {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly accounts: AccountStore,
    private readonly limits: SignInLimits,
    private readonly store: ForgetStore,
  ) {}

  /**
   * PASSWORD_WRONG, and RATE_LIMITED after as many wrong ones as at sign-in; FORGET_UNSETTLED with what others depend on;
   * LAST_REGISTRAR where a helper of a forgotten keeper is a club's last registrar through it.
   */
  async execute(
    viewer: Viewer,
    command: z.infer<typeof forgetMeCommand>,
    clientAddress: string,
  ): Promise<z.infer<typeof outcome>> {
    const { email } = await this.accounts.getEmail(viewer);
    const tries = { email, address: clientAddress };
    await this.limits.take(tries);
    const noPassword = await hashPassword(randomBytes(32).toString('base64url'));
    // The password is no part of what identifies the request: nothing made from it is kept.
    const request = { action: 'exchange.forget-me', input: {}, outcome };
    const done = await this.uow.write(viewer, request, async (tx) => {
      const { accountId } = viewer;
      const account = await this.store.lockAccount(tx, accountId);
      if (account === null) return decide({ accountId, keeperIds: [] });
      if (!(await passwordFits(account.passwordHash, command.password)))
        return refuse('PASSWORD_WRONG', 'This is not your present password.');
      const keeperIds = await this.store.lockSoleKeepers(tx, accountId);
      const decision = decideForget(await this.store.findUnsettled(tx, accountId, keeperIds));
      if (!decision.ok) return decision;
      const whom = {
        accountId,
        keeperIds,
        email: account.email,
        noPassword,
        idempotencyKey: viewer.idempotencyKey ?? null,
      };
      const files = await this.store.findFiles(tx, whom);
      await this.store.forget(tx, whom);
      const helpers = await this.store.endTies(tx, whom);
      const offices = await endOfficesOutsideClubs(tx, helpers);
      if (!offices.ok) return offices;
      await tx.ledger.append(forgotten, { subjects: [accountId, ...keeperIds], body: { accountId, keeperIds } });
      for (let start = 0; start < files.length; start += HASHES_A_MESSAGE)
        await tx.outbox.send(removeFiles, {
          hashes: files.slice(start, start + HASHES_A_MESSAGE),
          notKeptSince: tx.now.toISOString(),
        });
      return decide({ accountId, keeperIds });
    });
    await this.limits.succeed(tries);
    return done;
  }
}
