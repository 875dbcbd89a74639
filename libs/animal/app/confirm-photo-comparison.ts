import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, forbidden, NO_ID, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { type PhotoVerdict } from '../core/photo.core.js';
import { lockVisibleMark } from '../store/mark-authority.store.js';
import { findSession, insertComparison } from '../store/photo.store.js';
import { photoComparisonConfirmed } from './mark-ledger.js';

export type ConfirmPhotoComparisonCommand = {
  readonly sessionId: string;
  readonly earlierSessionId: string;
  readonly verdict: PhotoVerdict;
};

/**
 * One person says whether two sessions of a photo documentation show one animal. Two different people make a confirmation:
 * those who act for a keeper that has the animal, owns a share, or is offered it.
 */
@Injectable()
export class ConfirmPhotoComparison {
  constructor(private readonly uow: UnitOfWork) {}

  /** NOT_FOUND, FORBIDDEN, PHOTO_ORDER, PHOTO_OTHER_MARK. */
  async execute(viewer: Viewer, command: ConfirmPhotoComparisonCommand): Promise<{ animalId: string; markId: string }> {
    const outcome = z.object({ animalId: z.uuid(), markId: z.uuid() });
    return this.uow.write(viewer, { action: 'animal.confirm-photos', input: command, outcome }, async (tx) => {
      const { sessionId, earlierSessionId, verdict } = command;
      const first = await findSession(tx, sessionId);
      const mark = await lockVisibleMark(tx, viewer, first?.markId ?? NO_ID);
      const keeperId = await requireReader(tx, viewer, mark.animalId);
      const [session, earlier] = [await findSession(tx, sessionId), await findSession(tx, earlierSessionId)];
      if (session === null) throw notFound('mark');
      if (earlier?.markId !== session.markId)
        return refuse('PHOTO_OTHER_MARK', 'The two sessions belong to different photo documentations.');
      if (earlier.takenOn >= session.takenOn)
        return refuse('PHOTO_ORDER', 'A session is held against an earlier one. Name the later one first.');
      const { accountId } = viewer;
      await insertComparison(tx, { sessionId, earlierSessionId, verdict, keeperId, accountId });
      const ids = { animalId: mark.animalId, markId: mark.id };
      await tx.ledger.append(photoComparisonConfirmed, {
        subjects: [mark.animalId],
        body: { ...ids, keeperId, sessionId, earlierSessionId, verdict },
      });
      return decide(ids);
    });
  }
}

/** The viewer's keeper that reads the animal today: holder, owner, or receiver of an open offer. Throws FORBIDDEN. */
async function requireReader(tx: Tx, viewer: Viewer, animalId: string): Promise<string> {
  const grant = await tx.db.animalAccess.findFirst({
    where: { animalId, keeperId: { in: viewer.keepers.map((keeper) => keeper.keeperId) }, validTo: null },
    orderBy: [{ relation: 'asc' }, { id: 'asc' }],
  });
  if (grant === null) throw forbidden('Only a keeper who has, owns or is offered the animal may compare its pictures.');
  return grant.keeperId;
}
