import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { dayOf } from '../../kernel/index.js';
import { type NewNotice, NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { answerBy, CLAIMANT } from '../claims/claim.core.js';
import { CLAIM_NOTICES, claimNotice, tellClaim } from './tell-claim.job.js';

type Payload = z.infer<typeof tellClaim.payload>;

const told = defineLedgerAction('transfer.claim-told', 1, tellClaim.payload);

const REMEDIES: Readonly<Record<Payload['what'], string>> = {
  made: 'A keeper states that it owns a share of an animal that is yours by the record. That is a statement, not a finding: read it in `ownershipClaims` and state your side. What the law says of it, a court decides.',
  replied:
    'The other side has stated its view. Both statements stand beside each other. If you claim, propose shares or agree to them by the day this is due, or the claim lapses.',
  proposed:
    'Shares are proposed. Agree to them, or propose others. If you claim, do so by the day this is due, or the claim lapses.',
  agreed: 'A party agrees to the shares that are proposed. The claim is settled once all have.',
  settled: 'All sides agree on the shares. Nothing is left to do.',
  withdrawn: 'The claim was taken back. Nothing is left to do.',
  lapsed:
    'The claimant answered nothing for the days the registry waits, so the claim is over here and the owners by the record are the owners. What both sides stated stays. Who is right, the registry does not say.',
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
      select: {
        animalId: true,
        awaitsClaimantSince: true,
        parties: { select: { number: true, keeperId: true }, orderBy: { number: 'asc' } },
      },
    });
    if (claim === null) return;
    const { awaitsClaimantSince: since } = claim;
    const due = since === null || (what !== 'replied' && what !== 'proposed') ? null : answerBy(dayOf(since));
    const others = claim.parties.filter(({ number }) => !by.includes(number));
    const notices = others.flatMap(({ number, keeperId }): NewNotice[] => {
      if (keeperId === null) return [];
      const kind = CLAIM_NOTICES[what];
      const body = claimNotice.parse({ claimId, remedy: REMEDIES[what] });
      const dueOn = number === CLAIMANT ? due : null;
      return [
        {
          keeperId,
          kind,
          body,
          dueOn,
          dedupeKey: `${kind}:${claimId}:${round}:${what === 'agreed' ? `${by.join('+')}:` : ''}${number}`,
        },
      ];
    });
    await this.notices.writeMany(tx, notices);
    await tx.ledger.append(told, { subjects: [claim.animalId], body: payload });
  }
}
