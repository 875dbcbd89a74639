import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide, DomainError } from '../../kernel/index.js';
import { Clock } from '../../platform/clock.js';
import { hashPassword } from '../../platform/auth/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { emailAddress, newPassword } from '../session/password.schema.js';
import { type ClientFacts, SignIn, type SignedIn } from '../session/sign-in.js';
import { inviteFirstGuardian, minorFields, requireMinority } from './open-for-minor.js';
import { mailAddressTaken, mailCode } from '../store/account-code.store.js';
import { AccountStore } from '../store/account.store.js';

/** Addresses that turned out to be taken, by client. */
const TAKEN: RateLimit = { name: 'address-taken', times: 10, seconds: 3_600 };
/** Mails that tell somebody of such a try: once a day, however often it is tried. */
const TAKEN_MAILS: RateLimit = { name: 'address-taken-mails', times: 1, seconds: 86_400 };

const accountOpened = defineLedgerAction(
  'account.opened',
  1,
  z.strictObject({
    accountId: z.uuid(),
    keeperId: z.uuid(),
    kind: z.enum(['person', 'house']),
    minorUntil: z.iso.date().optional(),
  }),
);

/** Guardians named by clients that open accounts. */
const GUARDIANS: RateLimit = { name: 'guardians-named', times: 10, seconds: 3_600 };

/** What others know a keeper by. */
export const keeperName = z
  .string()
  .trim()
  .min(1, 'The keeper needs a name. | Write the name others will know you by.')
  .max(120, 'The name is too long. | Use at most 120 characters.');

/** What a person gives to begin. */
export const openAccountCommand = z.object({
  email: emailAddress,
  password: newPassword,
  keeperName,
  kind: z.enum(['person', 'house']).nullish(),
  ...minorFields,
});

export type OpenAccountCommand = z.infer<typeof openAccountCommand>;

/** Opens an account and its first keeper, and signs in. */
@Injectable()
export class OpenAccount {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly accounts: AccountStore,
    private readonly signIn: SignIn,
    private readonly limits: RateLimits,
    private readonly clock: Clock,
  ) {}

  /**
   * Throws RULE_REFUSED EMAIL_TAKEN when an account has the address, which is mailed a word of it; somebody who asks about many
   * addresses in this way gets RATE_LIMITED. An account acts at once, before its address is confirmed, so the answer cannot be
   * the same in both cases. INVALID_INPUT for a minor's keeper without a guardian, to whom an invitation is mailed.
   */
  async execute(
    command: OpenAccountCommand,
    client: ClientFacts,
    requestId: string,
  ): Promise<SignedIn & { accountId: string; keeperId: string }> {
    await this.limits.require(TAKEN, client.address);
    requireMinority(command, command.email, this.clock.today());
    if (command.guardianEmail !== null) await this.limits.take(GUARDIANS, client.address);
    const passwordHash = await hashPassword(command.password);
    const ids = { accountId: uuid(), keeperId: uuid() };
    try {
      await this.write(command, ids, passwordHash, requestId);
    } catch (error) {
      if (error instanceof DomainError && error.rule === 'EMAIL_TAKEN') {
        await this.limits.take(TAKEN, client.address);
        await this.tellReader(command.email, requestId);
      }
      throw error;
    }
    return { ...ids, ...(await this.signIn.begin(ids.accountId, client, requestId)) };
  }

  /** Whoever forgot that they have an account learns it here, and whoever is asked about learns that somebody asks. */
  private async tellReader(email: string, requestId: string): Promise<void> {
    const first = await this.limits.take(TAKEN_MAILS, email).then(
      () => true,
      () => false,
    );
    if (!first) return;
    await this.uow.writeAsServer(requestId, async (tx) => {
      await mailAddressTaken(tx, email);
      return decide(null);
    });
  }

  private write(
    command: OpenAccountCommand,
    ids: { accountId: string; keeperId: string },
    passwordHash: string,
    requestId: string,
  ): Promise<unknown> {
    const kind = command.kind ?? 'person';
    const { minorUntil } = command;
    const keeper = { id: ids.keeperId, name: command.keeperName, kind, region: null, minorUntil };
    return this.uow.writeAsServer(requestId, async (tx) => {
      await this.accounts.insertAccount(tx, { id: ids.accountId, email: command.email, passwordHash });
      await this.accounts.insertKeeper(tx, keeper, ids.accountId);
      await mailCode(tx, ids.accountId, 'confirm_email');
      await tx.ledger.append(accountOpened, {
        subjects: [ids.accountId, ids.keeperId],
        body: { ...ids, kind, ...(minorUntil === null ? {} : { minorUntil }) },
        personal: { email: command.email, keeperName: command.keeperName },
      });
      await inviteFirstGuardian(tx, command, ids.keeperId, ids.accountId);
      return decide(ids);
    });
  }
}
