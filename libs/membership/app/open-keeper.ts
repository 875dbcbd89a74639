import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import {
  actsFor,
  decide,
  decides,
  forbidden,
  isRegionCode,
  notFound,
  owns,
  refuse,
  type Viewer,
} from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { Clock } from '../../platform/clock.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { AccountStore } from '../store/account.store.js';
import { lockKeepers, rolesOf } from '../store/member.store.js';
import { INVITATIONS } from './invite-to-keeper.js';
import { inviteFirstGuardian, minorFields, requireMinority } from './open-for-minor.js';
import { keeperName } from './open-account.js';

const kind = z.enum(['person', 'house']);
const region = z
  .string()
  .refine(isRegionCode, 'This is not a region code. | Write it like AT-7 (ISO 3166-2), or null for none.');

export const openKeeperCommand = z.object({
  name: keeperName,
  kind: kind.nullish().transform((value) => value ?? 'person'),
  region: region.nullish().transform((value) => value ?? null),
  ...minorFields,
});
/** What is left out stays; `region` null clears it. */
export const updateKeeperCommand = z.object({
  keeperId: idInput,
  name: keeperName.optional(),
  region: region.nullable().optional(),
});

const keeperOpened = defineLedgerAction(
  'keeper.opened',
  1,
  z.strictObject({ keeperId: z.uuid(), kind, minorUntil: z.iso.date().optional() }),
);
const keeperUpdated = defineLedgerAction(
  'keeper.updated',
  1,
  z.strictObject({ keeperId: z.uuid(), changed: z.array(z.enum(['name', 'region'])) }),
);

/** More keepers than one person has. */
const MAX_KEEPERS = 20;

/** People move seldom. Without a limit, a search from one region after the other would find the region of every holder. */
const REGION: RateLimit = { name: 'keeper-region', times: 3, seconds: 30 * 86_400 };

/** Another keeper for an account, and what a keeper is called and where it is. */
@Injectable()
export class OpenKeeper {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly accounts: AccountStore,
    private readonly limits: RateLimits,
    private readonly clock: Clock,
  ) {}

  /**
   * The account becomes its owner; a minor's keeper needs a guardian, to whom an invitation is mailed. INVALID_INPUT, RULE_REFUSED
   * KEEPERS_FULL; RATE_LIMITED for the fourth region an account names in 30 days.
   */
  async open(viewer: Viewer, command: z.infer<typeof openKeeperCommand>): Promise<{ keeperId: string }> {
    requireMinority(command, (await this.accounts.getEmail(viewer)).email, this.clock.today());
    if (command.region !== null) await this.limits.take(REGION, viewer.accountId);
    if (command.guardianEmail !== null) await this.limits.take(INVITATIONS, viewer.accountId);
    const request = { action: 'membership.open-keeper', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await tx.db.$queryRaw`SELECT id FROM account WHERE id = ${viewer.accountId}::uuid FOR NO KEY UPDATE`;
      const own = await tx.db.keeperMember.count({ where: { accountId: viewer.accountId, endedAt: null } });
      if (own >= MAX_KEEPERS) return refuse('KEEPERS_FULL', `An account acts for at most ${MAX_KEEPERS} keepers.`);
      const keeperId = uuid();
      const { name, kind, region, minorUntil } = command;
      await this.accounts.insertKeeper(tx, { id: keeperId, name, kind, region, minorUntil }, viewer.accountId);
      await tx.ledger.append(keeperOpened, {
        subjects: [keeperId, viewer.accountId],
        body: { keeperId, kind, ...(minorUntil === null ? {} : { minorUntil }) },
        personal: { name, ...(region === null ? {} : { region }) },
      });
      await inviteFirstGuardian(tx, command, keeperId, viewer.accountId);
      return decide({ keeperId });
    });
  }

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for a helper, RATE_LIMITED as `open`. */
  async update(viewer: Viewer, command: z.infer<typeof updateKeeperCommand>): Promise<{ keeperId: string }> {
    const { keeperId, name, region: code } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper changes its name and region.');
    if (typeof code === 'string') await this.limits.take(REGION, viewer.accountId);
    const request = { action: 'membership.update-keeper', input: command, outcome: z.object({ keeperId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      if (!decides((await rolesOf(tx, keeperId)).get(viewer.accountId))) throw notFound('keeper');
      const data = { ...(name === undefined ? {} : { name }), ...(code === undefined ? {} : { region: code }) };
      await tx.db.keeper.update({ where: { id: keeperId }, data });
      await tx.ledger.append(keeperUpdated, {
        subjects: [keeperId],
        body: { keeperId, changed: Object.keys(data) as ('name' | 'region')[] },
        personal: { ...(name === undefined ? {} : { name }), ...(typeof code === 'string' ? { region: code } : {}) },
      });
      return decide({ keeperId });
    });
  }
}
