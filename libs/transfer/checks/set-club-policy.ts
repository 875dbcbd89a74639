import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, type Viewer } from '../../kernel/index.js';
import { OfficeStore, requireRegistrar, withoutOffice } from '../../membership/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { POLICY_CHECKS } from './send-checks.core.js';
import { writeClubPolicy } from './club-policy.store.js';

const check = z.enum(POLICY_CHECKS);
const effect = z.enum(['warn', 'block']);

/** `effect` null takes the club's word back: the default of the check holds. */
export const setClubPolicyCommand = z.object({
  clubId: idInput,
  check,
  effect: effect.nullish().transform((value) => value ?? null),
});
export type SetClubPolicyCommand = z.infer<typeof setClubPolicyCommand>;

const policySet = defineLedgerAction(
  'club.policy-set',
  1,
  z.strictObject({ clubId: z.uuid(), check, effect: effect.nullable() }),
);

/** A registrar says what a check before sending does between members of the club. It holds for what is sent from then on. */
@Injectable()
export class SetClubPolicy {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
  ) {}

  /** FORBIDDEN for others of the club, NOT_FOUND for everybody else, as for a club that does not exist. */
  async execute(viewer: Viewer, command: SetClubPolicyCommand): Promise<{ clubId: string }> {
    const { clubId } = command;
    requireRegistrar(viewer, clubId);
    const request = { action: 'club.set-policy', input: command, outcome: z.object({ clubId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.offices.lockClub(tx, clubId);
      // Asked again under the lock: another registrar may have ended this office a moment ago.
      if (!(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw withoutOffice(viewer, clubId);
      await writeClubPolicy(tx, command);
      await tx.ledger.append(policySet, { subjects: [clubId], body: command });
      return decide({ clubId });
    });
  }
}
