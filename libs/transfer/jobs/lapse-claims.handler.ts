import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { currentOwners, setOwners } from '../../custody/index.js';
import { addDays, type Day, day as toDay } from '../../kernel/index.js';
import { type NewNotice, NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { claimLapsed } from '../claims/claim-command.js';
import {
  answerBy,
  type Claim,
  CLAIM_ANSWER_DAYS,
  CLAIM_REMINDER_DAYS,
  CLAIMANT,
  lapseClaim,
} from '../claims/claim.core.js';
import { findUnanswered, readClaimsById, saveClaim } from '../claims/claim.store.js';
import { lapseClaims, lapseKey } from './lapse-claims.job.js';
import { CLAIM_ANSWER_DUE, claimNotice, tellClaim } from './tell-claim.job.js';

type Payload = z.infer<typeof lapseClaims.payload>;

/** Claims a transaction looks at at most: it holds a lock on each of their animals. */
const BATCH = 100;

const REMEDY =
  'What the other side said waits for your answer: propose shares or agree to them by this day, or take the claim back. Otherwise it lapses, and the owners by the record are the owners.';

/**
 * A claim freezes an animal, so one that nobody pursues ends: when the claimant has answered nothing for the days of
 * `CLAIM_ANSWER_DAYS` after another party said something. Their animals are locked before the claims are judged, so that an answer at
 * the same moment comes before or after.
 */
@Injectable()
export class LapseClaimsHandler implements JobHandler<Payload> {
  readonly job = lapseClaims;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, after }: Payload): Promise<void> {
    const today = toDay(day);
    const saidOn = addDays(today, CLAIM_REMINDER_DAYS - CLAIM_ANSWER_DAYS);
    const found = await findUnanswered(tx, saidOn, after, BATCH);
    await lockAnimals(
      tx,
      found.map(({ animalId }) => animalId),
    );
    const claims = await readClaimsById(
      tx,
      found.map(({ id }) => id),
    );
    const reminders: NewNotice[] = [];
    for (const claim of claims) {
      const lapsed = lapseClaim(claim, today);
      if (lapsed === null) reminders.push(...reminderOf(claim, today));
      else await end(tx, claim, lapsed);
    }
    await this.notices.writeMany(tx, reminders);
    const last = found.at(-1)?.id;
    if (found.length < BATCH || last === undefined) return;
    await tx.outbox.send(lapseClaims, { day, after: last }, { dedupeKey: lapseKey(today, last) });
  }
}

async function end(tx: Tx, before: Claim, lapsed: Claim): Promise<void> {
  const { id: claimId, animalId, awaitsSince } = before;
  if (awaitsSince === null) return;
  await saveClaim(tx, lapsed, 'lapsed');
  const shares = (await currentOwners(tx, [animalId])).get(animalId) ?? [];
  const owned = await setOwners(tx, { animalId, from: tx.today, shares });
  if (!owned.ok) throw new Error(`Owners of ${animalId} cannot be set: ${owned.refusal.rule}`);
  await tx.outbox.send(tellClaim, { claimId, what: 'lapsed', by: [], round: 0 });
  const body = { claimId, animalId, answerBy: answerBy(awaitsSince) };
  await tx.ledger.append(claimLapsed, { subjects: [animalId], body });
}

function reminderOf({ id, ended, awaitsSince, parties }: Claim, today: Day): NewNotice[] {
  const owner = parties.find(({ number }) => number === CLAIMANT)?.owner;
  if (ended || awaitsSince === null || owner?.kind !== 'keeper') return [];
  const dueOn = answerBy(awaitsSince);
  if (addDays(dueOn, -CLAIM_REMINDER_DAYS) > today) return [];
  const body = claimNotice.parse({ claimId: id, remedy: REMEDY });
  return [
    { keeperId: owner.keeperId, kind: CLAIM_ANSWER_DUE, body, dueOn, dedupeKey: `${CLAIM_ANSWER_DUE}:${id}:${dueOn}` },
  ];
}
