import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { fieldsShown, findAccess } from '../../access/index.js';
import {
  decideLotCorrection,
  findLotChange,
  findOwner,
  firstVersion,
  getForWrite,
  lockAnimals,
  type LotChangeVersion,
  type LotCorrection,
  readLotChanges,
  requireAuthority,
  reviseLotChanges,
} from '../../animal/index.js';
import { type Day, decide, type Decision, NO_ID, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { followCount } from '../store/lot-end.store.js';
import { askRecounting } from '../store/lot-followers.js';
import { findLastStay, type LastStay } from '../store/last-stay.store.js';
import { isThere } from '../store/stock-write.store.js';
import { lotChangeCorrected } from './lot-ledger.js';

export type CorrectLotChangeCommand = LotCorrection & { readonly changeId: string; readonly reason: string };

/** Corrects number, day or cause of what a lot lost or found again, or takes it back: the lot counts as if it had been said so from the start. */
@Injectable()
export class CorrectLotChange {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * NOT_FOUND; FORBIDDEN unless the viewer's keeper had the lot last; THEFT_BY_OWNER_ONLY, DAY_IN_FUTURE, CUSTODY_DAY_TOO_EARLY,
   * CUSTODY_NOT_OPEN, LOT_CHANGE_BEFORE_STAY, LOT_CHANGE_OF_RECEIPT, and what `isThere`, `decideLotCorrection` and followers refuse.
   */
  async execute(viewer: Viewer, command: CorrectLotChangeCommand): Promise<{ lotId: string }> {
    const request = { action: 'animal.correct-lot-change', input: command, outcome: z.object({ lotId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const { reason } = command;
      const lotId = await lockLot(tx, viewer, command.changeId);
      const { keeperId } = await requireAuthority(tx, viewer, lotId, true);
      const lot = await getForWrite(tx, lotId);
      const there = await isThere(tx, lotId);
      if (!there.ok) return there;
      const changes = await readLotChanges(tx, lotId);
      const change = changes.find(({ id }) => id === command.changeId);
      if (change === undefined) throw notFound('animal');
      if ([change.cause, command.cause].includes('stolen') && (await findOwner(tx, viewer, lotId)) === null)
        return refuse('THEFT_BY_OWNER_ONLY', 'Only an owner says of a theft that it was one, or was not.');
      const stay = await findLastStay(tx, lotId);
      const mine = ofStay(stay, firstVersion(changes, change), command.on ?? change.on, tx.today);
      if (!mine.ok) return mine;
      const possible = decideLotCorrection(changes, change, command);
      if (!possible.ok) return possible;
      const { left, lastOn, revisions } = possible.value;
      if (left !== lot.count) {
        const free = await askRecounting(tx, lotId);
        if (!free.ok) return free;
      }
      await reviseLotChanges(tx, { lotId, keeperId, reason }, possible.value);
      const followed = await followCount(tx, { lot, left, lastOn, endedOn: stay?.to ?? null, keeperId, reason });
      if (!followed.ok) return followed;
      const [main, ...recounts] = revisions;
      const before = new Map(changes.map((each) => [each.id, each.delta]));
      await tx.ledger.append(lotChangeCorrected, {
        subjects: [lotId],
        body: {
          lotId,
          keeperId,
          changeId: change.id,
          from: said(change),
          to: main?.instead ? said(main.instead) : null,
          left,
          unaccounted: recounts.reduce((sum, each) => sum + (each.instead?.delta ?? 0) - (before.get(each.id) ?? 0), 0),
          ...followed.value,
        },
        personal: { reason },
      });
      return decide({ lotId });
    });
  }
}

/** Locks the lot of a change. Throws NOT_FOUND, in the same words for a change that is not there and one the viewer may not see. */
async function lockLot(tx: Tx, viewer: Viewer, changeId: string): Promise<string> {
  const change = await findLotChange(tx, changeId);
  const lotId = change?.lotId ?? NO_ID;
  await lockAnimals(tx, [lotId]);
  const access = (await findAccess(tx.db, viewer, [lotId])).get(lotId);
  if (change === null || access === undefined || !fieldsShown(access.level).record) throw notFound('animal');
  if (access.readsUntil !== null && change.recordedAt > access.readsUntil) throw notFound('animal');
  return lotId;
}

/** A keeper corrects what was recorded while the lot was with them, within the days of that stay; a receipt is between two. */
function ofStay(stay: LastStay | null, first: LotChangeVersion, on: Day, today: Day): Decision<null> {
  if (stay === null) return refuse('CUSTODY_NOT_OPEN', 'Nobody has had this lot.');
  if (first.recordedAt < stay.beganAt)
    return refuse('LOT_CHANGE_BEFORE_STAY', 'It was recorded before the lot was with you. Count the lot anew instead.');
  if (stay.arrivedBy === 'received' && first.recordedAt.getTime() === stay.beganAt.getTime())
    return refuse(
      'LOT_CHANGE_OF_RECEIPT',
      'It is what both sides know of the arrival. Count the lot anew with `recountLot` instead.',
    );
  if (on > today) return refuse('DAY_IN_FUTURE', `${on} is still to come.`);
  if (on < stay.from) return refuse('CUSTODY_DAY_TOO_EARLY', `The lot has been here only since ${stay.from}.`);
  if (stay.to !== null && stay.leftBy !== 'died' && on > stay.to)
    return refuse('CUSTODY_NOT_OPEN', `Nobody has had the lot since ${stay.to}.`);
  return decide(null);
}

const CAUSES = ['died', 'missing', 'stolen', 'escaped', 'found'] as const;

function said({ cause, delta, on }: Pick<LotChangeVersion, 'cause' | 'delta' | 'on'>) {
  const told = CAUSES.find((each) => each === cause);
  if (told === undefined) throw new Error(`A change ${cause} is not corrected.`);
  return { cause: told, count: Math.abs(delta), on };
}
