import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import {
  MARK_CONFLICT,
  MARK_CONFLICT_RESOLVED,
  markConflictNotice,
  tellMarkConflict,
} from './tell-mark-conflict.job.js';

type Payload = z.infer<typeof tellMarkConflict.payload>;

const told = defineLedgerAction(
  'animal.mark-conflict-told',
  1,
  z.strictObject({ conflictId: z.uuid(), resolved: z.boolean(), noticeIds: z.array(z.uuid()) }),
);

const REMEDY =
  'Read the chip again and correct the mark if it was misread. If it is right, somebody else has a record with this number: it may be the same animal, registered twice. Nothing is blocked meanwhile.';
const SETTLED = 'Nothing is left to do.';

/** Writes each keeper concerned one notice about their own animal. Does nothing about a conflict that opened and closed unseen. */
@Injectable()
export class TellMarkConflictHandler implements JobHandler<Payload> {
  readonly job = tellMarkConflict;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { conflictId }: Payload): Promise<void> {
    const conflict = await tx.db.markConflict.findUnique({ where: { id: conflictId } });
    if (conflict === null) return;
    const resolved = conflict.resolvedAt !== null;
    const readers = await tx.db.animalAccess.findMany({
      where: {
        animalId: { in: [conflict.animalAId, conflict.animalBId] },
        relation: { in: ['holder', 'owner'] },
        validTo: null,
      },
      select: { keeperId: true, animalId: true, animal: { select: { registerNumber: true } } },
      orderBy: [{ keeperId: 'asc' }, { animalId: 'asc' }],
    });
    const own = new Map<string, Map<string, string>>();
    for (const { keeperId, animalId, animal } of readers)
      own.set(keeperId, (own.get(keeperId) ?? new Map<string, string>()).set(animalId, animal.registerNumber));
    // Who was never told that it began is not told that it is over.
    const known = resolved
      ? new Set(
          (
            await tx.db.notice.findMany({
              where: { dedupeKey: { in: [...own.keys()].map((id) => keyOf(MARK_CONFLICT, conflictId, id)) } },
              select: { keeperId: true },
            })
          ).map(({ keeperId }) => keeperId),
        )
      : new Set(own.keys());
    const kind = resolved ? MARK_CONFLICT_RESOLVED : MARK_CONFLICT;
    const written = await this.notices.writeMany(
      tx,
      [...own]
        .filter(([keeperId]) => known.has(keeperId))
        .map(([keeperId, animals]) => ({
          keeperId,
          kind,
          body: markConflictNotice.parse({
            conflictId,
            animalIds: [...animals.keys()],
            registerNumbers: [...animals.values()].map((number) => formatRegisterNumber(number as RegisterNumber)),
            value: conflict.value,
            sharedCode: conflict.sharedCode,
            remedy: resolved ? SETTLED : REMEDY,
          }),
          dueOn: null,
          dedupeKey: keyOf(kind, conflictId, keeperId),
        })),
    );
    if (written.size === 0) return;
    await tx.ledger.append(told, {
      subjects: [conflict.animalAId, conflict.animalBId],
      body: { conflictId, resolved, noticeIds: [...written.values()] },
    });
  }
}

function keyOf(kind: string, conflictId: string, keeperId: string): string {
  return `${kind}:${conflictId}:${keeperId}`;
}
