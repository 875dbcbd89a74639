import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  actsFor,
  type Day,
  decide,
  forbidden,
  invalidInput,
  notFound,
  refuse,
  type Viewer,
} from '../../kernel/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { minorUntilPossible } from '../core/minor.core.js';
import { lockKeepers, rolesOf, standingOfOne } from '../store/member.store.js';

export const correctMinorityCommand = z.object({
  keeperId: idInput,
  minorUntil: dayInput,
  reason: z
    .string()
    .trim()
    .min(1, 'The reason is empty. | Say what was wrong with the day before.')
    .max(500, 'The reason is too long. | Use at most 500 characters.'),
});

const corrected = defineLedgerAction(
  'keeper.minority-corrected',
  1,
  z.strictObject({ keeperId: z.uuid(), minorUntil: z.iso.date() }),
);

/** A guardian puts the day right from which the keeper counts as an adult's. Until that day is over it stays a minor's. */
@Injectable()
export class CorrectMinority {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND for a keeper the viewer does not act for, FORBIDDEN for all but a guardian, INVALID_INPUT for an impossible day, NOT_A_MINOR. */
  async execute(viewer: Viewer, command: z.infer<typeof correctMinorityCommand>): Promise<{ keeperId: string }> {
    const { keeperId, minorUntil, reason } = command;
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    const outcome = z.object({ keeperId: z.uuid() });
    return this.uow.write(viewer, { action: 'membership.correct-minority', input: command, outcome }, async (tx) => {
      await lockKeepers(tx, [keeperId]);
      // Asked under the lock: a guardian may have left a moment ago.
      if ((await rolesOf(tx, keeperId)).get(viewer.accountId) !== 'guardian')
        throw forbidden('Only a guardian of the keeper puts this day right.');
      if (!(await standingOfOne(tx, keeperId)).minor)
        return refuse('NOT_A_MINOR', 'This keeper counts as an adult’s already.');
      requirePossible(minorUntil, tx.today);
      await tx.db.keeper.update({
        where: { id: keeperId },
        data: { minorUntil: new Date(`${minorUntil}T00:00:00Z`) },
      });
      const body = { keeperId, minorUntil };
      await tx.ledger.append(corrected, { subjects: [keeperId], body, personal: { reason } });
      return decide({ keeperId });
    });
  }
}

function requirePossible(until: Day, today: Day): void {
  if (minorUntilPossible(until, today)) return;
  const remedy = 'Write the first day on which the keeper counts as an adult’s, after today.';
  throw invalidInput([{ path: 'input.minorUntil', message: 'A keeper is a minor’s until a day to come.', remedy }]);
}
