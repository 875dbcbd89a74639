import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { decide, formatRegisterNumber, type RegisterNumber, type Viewer } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { type RateLimit, RateLimits } from '../../platform/rate-limit/index.js';
import { type ASKED_KINDS } from '../core/mark.core.js';
import { answerAbout, type MarkAnswer } from '../core/mark-query.core.js';
import { MarkQueryStore } from '../store/mark-query.store.js';

/** A mark as read on an animal that somebody found. */
export type FoundMark = { readonly kind: (typeof ASKED_KINDS)[number]; readonly value: string };

/** Enough for an animal in the hand, too few to go through numbers. */
const ASK: RateLimit = { name: 'mark-query', times: 20, seconds: 3600 };
const TELL: RateLimit = { name: 'mark-tell', times: 5, seconds: 86_400 };

/** Kind of the notice to those who have or own an animal somebody found. */
export const MARK_FOUND = 'mark_found';

/** Body of a notice of kind `mark_found`. The finder names themselves in the message, or does not. */
export const markFoundNotice = z.strictObject({
  animalId: z.uuid(),
  registerNumber: z.string(),
  kind: z.string(),
  value: z.string(),
  message: z.string(),
});

const keeperTold = defineLedgerAction(
  'animal.keeper-told-of-mark',
  1,
  z.strictObject({ kind: z.string(), noticeIds: z.array(z.uuid()) }),
);

/** Asks the registry about a mark, and leaves word for the keeper, without either side learning who the other is. */
@Injectable()
export class AskAboutMark {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly marks: MarkQueryStore,
    private readonly limits: RateLimits,
    private readonly notices: NoticeStore,
  ) {}

  /** Whether a record carries the mark, and what is reported of it. RATE_LIMITED after 20 questions of an account in an hour. */
  async ask(viewer: Viewer, mark: FoundMark): Promise<MarkAnswer> {
    await this.limits.take(ASK, viewer.accountId);
    return answerAbout((await this.marks.findCarriers(mark)).map(({ fate }) => fate));
  }

  /** Sends a notice to every keeper who has or owns an animal with the mark; says whether there was one. RATE_LIMITED after 5 a day. */
  async tell(viewer: Viewer, found: FoundMark & { readonly message: string }): Promise<{ told: boolean }> {
    await this.limits.take(TELL, viewer.accountId);
    const outcome = z.object({ told: z.boolean() });
    return this.uow.write(viewer, { action: 'animal.tell-keeper', input: found, outcome }, async (tx) => {
      const { kind, value, message } = found;
      const carriers = await this.marks.findCarriers(found, tx.db);
      const readers = await tx.db.animalAccess.findMany({
        where: {
          animalId: { in: carriers.map(({ id }) => id) },
          relation: { in: ['holder', 'owner'] },
          validTo: null,
        },
        select: { animalId: true, keeperId: true },
        distinct: ['animalId', 'keeperId'],
        orderBy: [{ animalId: 'asc' }, { keeperId: 'asc' }],
      });
      const numbers = new Map(carriers.map((carrier) => [carrier.id, carrier.registerNumber]));
      const telling = uuid();
      const written = await this.notices.writeMany(
        tx,
        readers.map(({ animalId, keeperId }) => ({
          keeperId,
          kind: MARK_FOUND,
          body: markFoundNotice.parse({
            animalId,
            registerNumber: formatRegisterNumber((numbers.get(animalId) ?? '') as RegisterNumber),
            kind,
            value,
            message,
          }),
          dueOn: null,
          dedupeKey: `${MARK_FOUND}:${telling}:${animalId}:${keeperId}`,
        })),
      );
      if (written.size > 0)
        await tx.ledger.append(keeperTold, {
          subjects: carriers.map(({ id }) => id),
          body: { kind, noticeIds: [...written.values()] },
          personal: { message },
        });
      return decide({ told: written.size > 0 });
    });
  }
}
