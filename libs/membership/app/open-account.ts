import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide } from '../../kernel/index.js';
import { type AccessToken, AccessTokens, hashPassword } from '../../platform/auth/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { AccountStore } from '../store/account.store.js';

const accountOpened = defineLedgerAction(
  'account.opened',
  1,
  z.strictObject({ accountId: z.uuid(), keeperId: z.uuid(), kind: z.enum(['person', 'house']) }),
);

/** What a person gives to begin. */
export const openAccountCommand = z.object({
  email: z
    .email('This is not an e-mail address. | Write it like name@example.org.')
    .max(254)
    .transform((text) => text.toLowerCase()),
  // ASVS 5.0, 6.2.1: at least 8 characters, 15 recommended; no rules of composition.
  password: z
    .string()
    .min(12, 'The password is too short. | Use at least 12 characters; a few words in a row are fine.')
    .max(200, 'The password is too long. | Use at most 200 characters.'),
  keeperName: z
    .string()
    .trim()
    .min(1, 'The keeper needs a name. | Write the name others will know you by.')
    .max(120, 'The name is too long. | Use at most 120 characters.'),
  kind: z.enum(['person', 'house']).nullish(),
});

export type OpenAccountCommand = z.infer<typeof openAccountCommand>;

/** Opens an account and its first keeper, and signs in. */
@Injectable()
export class OpenAccount {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly accounts: AccountStore,
    private readonly tokens: AccessTokens,
  ) {}

  /** Throws RULE_REFUSED EMAIL_TAKEN when an account has the address. */
  async execute(
    command: OpenAccountCommand,
    requestId: string,
  ): Promise<AccessToken & { accountId: string; keeperId: string }> {
    const passwordHash = await hashPassword(command.password);
    const ids = { accountId: uuid(), keeperId: uuid() };
    const kind = command.kind ?? 'person';
    await this.uow.writeAsServer(requestId, async (tx) => {
      await this.accounts.insertAccount(tx, { id: ids.accountId, email: command.email, passwordHash });
      await this.accounts.insertKeeper(
        tx,
        { id: ids.keeperId, name: command.keeperName, kind, region: null },
        ids.accountId,
      );
      await tx.ledger.append(accountOpened, {
        subjects: [ids.accountId, ids.keeperId],
        body: { ...ids, kind },
        personal: { email: command.email, keeperName: command.keeperName },
      });
      return decide(ids);
    });
    return { ...ids, ...(await this.tokens.issue(ids.accountId)) };
  }
}
