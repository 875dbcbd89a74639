import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals, requireAuthority } from '../../animal/index.js';
import {
  addDays,
  type Day,
  decide,
  invalidInput,
  notFound,
  owns,
  refuse,
  roleFor,
  type Viewer,
} from '../../kernel/index.js';
import { mayTakePart, type NewNotice, NoticeStore, requireOtherKeeper, standingOfOne } from '../../membership/index.js';
import { dayInput, idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import {
  endGuest,
  findGrantAnimal,
  findOwnAccess,
  getGrant,
  insertGuest,
  isGuest,
  requireOwner,
} from '../store/sharing-write.store.js';

/** Longest that reading is granted at once, in days: after it the keeper decides again. */
export const MAX_GUEST_DAYS = 366;

export const grantReadingCommand = z.object({ animalId: idInput, toKeeperId: idInput, until: dayInput });
export const endGrantCommand = z.object({ grantId: idInput });

const granted = defineLedgerAction(
  'reading.granted',
  1,
  z.strictObject({
    grantId: z.uuid(),
    animalId: z.uuid(),
    keeperId: z.uuid(),
    toKeeperId: z.uuid(),
    until: z.string(),
  }),
);
const ended = defineLedgerAction(
  'reading.ended',
  1,
  z.strictObject({ grantId: z.uuid(), animalId: z.uuid(), keeperId: z.uuid(), toKeeperId: z.uuid() }),
);

/**
 * A keeper lets another one, a veterinarian for instance, read an animal until a day. A guest reads and does nothing else; the
 * reading ends with its day, by `end`, or when the animal leaves the keeper who granted it.
 */
@Injectable()
export class GrantReading {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly notices: NoticeStore,
  ) {}

  /**
   * NOT_FOUND for an animal the viewer may not see and a keeper there is not, FORBIDDEN for all but an owner of the keeper who
   * has or owns the animal, INVALID_INPUT for a day in the past or more than a year off, ALREADY_A_GUEST, GUEST_HAS_IT,
   * RECORD_MERGED, GUARDIAN_AWAITED.
   */
  async grant(viewer: Viewer, command: z.infer<typeof grantReadingCommand>): Promise<{ grantId: string }> {
    const outcome = z.object({ grantId: z.uuid() });
    return this.uow.write(viewer, { action: 'custody.grant-reading', input: command, outcome }, async (tx) => {
      const { animalId, toKeeperId, until } = command;
      await lockAnimals(tx, [animalId]);
      const { keeperId } = await requireAuthority(tx, viewer, animalId);
      requireOwner(viewer, keeperId, 'keeper');
      const possible = mayTakePart('reading', await standingOfOne(tx, keeperId), roleFor(viewer, keeperId));
      if (!possible.ok) return possible;
      if (until < tx.today || until > addDays(tx.today, MAX_GUEST_DAYS))
        throw invalidInput([
          {
            path: 'until',
            message: 'Reading is granted from today to a day within a year.',
            remedy: `Give a day from ${tx.today} to ${addDays(tx.today, MAX_GUEST_DAYS)}.`,
          },
        ]);
      await requireOtherKeeper(tx, toKeeperId);
      if ((await findOwnAccess(tx, toKeeperId, [animalId])).length > 0)
        return refuse('GUEST_HAS_IT', 'This keeper has the animal or owns a share of it, and reads it anyway.');
      if (await isGuest(tx, animalId, toKeeperId, tx.today))
        return refuse('ALREADY_A_GUEST', 'This keeper reads the animal as a guest already. End that first.');
      const grantId = await insertGuest(tx, { animalId, keeperId: toKeeperId, grantedBy: keeperId, until });
      await tx.ledger.append(granted, {
        subjects: [animalId, keeperId, toKeeperId],
        body: { grantId, animalId, keeperId, toKeeperId, until },
      });
      await this.notices.write(tx, readingNotice('reading_granted', grantId, toKeeperId, until));
      return decide({ grantId });
    });
  }

  /** Ends a grant before its day, by who granted it or by the guest. NOT_FOUND, FORBIDDEN for a helper, GRANT_OVER. */
  async end(viewer: Viewer, command: z.infer<typeof endGrantCommand>): Promise<{ grantId: string }> {
    const outcome = z.object({ grantId: z.uuid() });
    return this.uow.write(viewer, { action: 'custody.end-grant', input: command, outcome }, async (tx) => {
      const { grantId } = command;
      const animalId = await findGrantAnimal(tx, grantId);
      if (animalId === null) throw notFound('grant');
      await lockAnimals(tx, [animalId]);
      const grant = await getGrant(tx, grantId);
      // A guest may leave; whoever granted it decides for its keeper.
      if (!owns(viewer, grant.keeperId)) requireOwner(viewer, grant.grantedBy, 'grant');
      if (!grant.runs) return refuse('GRANT_OVER', 'This keeper reads the animal no longer.');
      await endGuest(tx, grantId);
      const byGuest = owns(viewer, grant.keeperId);
      const told = byGuest ? grant.grantedBy : grant.keeperId;
      await this.notices.write(tx, readingNotice('reading_ended', grantId, told, null));
      await tx.ledger.append(ended, {
        subjects: [animalId, grant.grantedBy, grant.keeperId],
        body: { grantId, animalId, keeperId: grant.grantedBy, toKeeperId: grant.keeperId },
      });
      return decide({ grantId });
    });
  }
}

/** Body: which grant it is; whoever reads the notice finds the animal there. */
function readingNotice(
  kind: 'reading_granted' | 'reading_ended',
  grantId: string,
  keeperId: string,
  dueOn: Day | null,
): NewNotice {
  return { keeperId, kind, body: { grantId }, dueOn, dedupeKey: `${kind}:${grantId}` };
}
