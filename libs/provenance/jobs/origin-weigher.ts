import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { lockAnimals } from '../../animal/index.js';
import { currentCustody } from '../../custody/index.js';
import { addDays, formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { canonicalJson, sha256Hex } from '../../platform/canonical.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { ORIGIN_CAUTION } from '../core/caution.core.js';
import { changeInWords } from '../core/change-words.core.js';
import { originFinding, type OriginFinding, type Verdict } from '../core/origin-finding.core.js';
import { readOriginRecords } from '../store/origin-record.store.js';
import { confirmChecks, findLastChecks, insertChecks } from './system-origin-check.store.js';
import { ANSWER_DAYS, ORIGIN_FINDING_CHANGED, originFindingChangedNotice } from './weigh-origins.job.js';

const VERDICTS = ['documented', 'consistent', 'stated_only', 'contradicted'] as const;

const originsWeighed = defineLedgerAction(
  'provenance.origins-weighed',
  1,
  z.strictObject({
    checks: z.array(
      z.strictObject({ checkId: z.uuid(), animalId: z.uuid(), verdict: z.enum(VERDICTS), hash: z.string() }),
    ),
    noticeIds: z.array(z.uuid()),
  }),
);

type Change = {
  readonly animalId: string;
  readonly registerNumber: string;
  readonly finding: OriginFinding;
  readonly hash: string;
  readonly before: Verdict | null;
};

/** Weighs animals in one transaction: stores findings that changed, and tells the present holder when a verdict did. */
@Injectable()
export class OriginWeigher {
  constructor(private readonly notices: NoticeStore) {}

  /** Run twice without a change between it writes no finding and no notice the second time. */
  async weigh(tx: Tx, animalIds: readonly string[]): Promise<void> {
    await lockAnimals(tx, animalIds);
    const { subjects } = await readOriginRecords(tx.db, animalIds, null);
    const last = await findLastChecks(tx, animalIds);
    const same: string[] = [];
    const changes: Change[] = [];
    for (const { animalId, registerNumber, record, profile } of subjects) {
      const finding = originFinding(record, profile);
      const hash = sha256Hex(canonicalJson(finding));
      const before = last.get(animalId);
      if (before?.hash === hash) same.push(before.id);
      else changes.push({ animalId, registerNumber, finding, hash, before: before?.verdict ?? null });
    }
    if (same.length > 0) await confirmChecks(tx, same);
    if (changes.length === 0) return;
    const checkIds = await insertChecks(tx, changes);
    const noticeIds = await this.notify(tx, changes, checkIds);
    await tx.ledger.append(originsWeighed, {
      subjects: changes.map((change) => change.animalId),
      body: {
        checks: changes.map(({ animalId, finding, hash }, index) => ({
          checkId: checkIds[index] ?? '',
          animalId,
          verdict: finding.verdict,
          hash,
        })),
        noticeIds,
      },
    });
  }

  /** One notice a changed verdict. The first weighing tells only of a conflict: nothing was known before that could have changed. */
  private async notify(tx: Tx, changes: readonly Change[], checkIds: readonly string[]): Promise<string[]> {
    const holders = await currentCustody(
      tx,
      changes.map((change) => change.animalId),
    );
    const notices = changes.flatMap((change, index) => {
      const { animalId, finding, before } = change;
      const holder = holders.get(animalId)?.holder;
      const told = before === null ? finding.verdict === 'contradicted' : before !== finding.verdict;
      if (!told || holder?.kind !== 'keeper') return [];
      const conflict = finding.askFirst || finding.verdict === 'contradicted';
      return [
        {
          keeperId: holder.keeperId,
          kind: ORIGIN_FINDING_CHANGED,
          body: noticeOf(change),
          dueOn: conflict ? addDays(tx.today, ANSWER_DAYS) : null,
          dedupeKey: `${ORIGIN_FINDING_CHANGED}:${checkIds[index] ?? ''}`,
        },
      ];
    });
    return [...(await this.notices.writeMany(tx, notices)).values()];
  }
}

function noticeOf({ animalId, registerNumber, finding, before }: Change): object {
  const number = formatRegisterNumber(registerNumber as RegisterNumber);
  return originFindingChangedNotice.parse({
    animalId,
    registerNumber: number,
    before,
    now: finding.verdict,
    words: changeInWords(finding, number, ANSWER_DAYS),
    reasons: finding.items
      .filter((item) => item.weighs === 'contradicts' || item.weighs === 'doubts')
      .map((item) => item.words),
    missing: finding.missing,
    caution: ORIGIN_CAUTION,
  });
}
