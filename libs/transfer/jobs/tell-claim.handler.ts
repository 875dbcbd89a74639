import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { type NewNotice, NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { CLAIM_NOTICES, claimNotice, tellClaim } from './tell-claim.job.js';

type Payload = z.infer<typeof tellClaim.payload>;

const told = defineLedgerAction('transfer.claim-told', 1, tellClaim.payload);

const REMEDIES: Readonly<Record<Payload['what'], string>> = {
  made: 'A keeper states that it owns a share of an animal that is yours by the record. That is a statement, not a finding: read it in `ownershipClaims` and state your side. What the law says of it, a court decides.',
  replied: 'The other side has stated its view. Both statements stand beside each other.',
  proposed: 'Shares are proposed. Agree to them, or propose others.',
  settled: 'All sides agree on the shares. Nothing is left to do.',
  withdrawn: 'The claim was taken back. Nothing is left to do.',
};

/** Writes every other party with an account one notice. */
@Injectable()
export class TellClaimHandler implements JobHandler<Payload> {
  readonly job = tellClaim;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, payload: Payload): Promise<void> {
    const { claimId, what, by, round } = payload;
    const claim = await tx.db.ownershipClaim.findUnique({
      where: { id: claimId },
      select: { animalId: true, parties: { select: { number: true, keeperId: true }, orderBy: { number: 'asc' } } },
    });
    if (claim === null) return;
    const others = claim.parties.filter(({ number }) => !by.includes(number));
    const notices = others.flatMap(({ number, keeperId }): NewNotice[] => {
      if (keeperId === null) return [];
      const kind = CLAIM_NOTICES[what];
      const body = claimNotice.parse({ claimId, remedy: REMEDIES[what] });
      return [{ keeperId, kind, body, dueOn: null, dedupeKey: `${kind}:${claimId}:${round}:${number}` }];
    });
    await this.notices.writeMany(tx, notices);
    await tx.ledger.append(told, { subjects: [claim.animalId], body: payload });
  }
}
