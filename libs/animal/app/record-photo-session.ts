import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import {
  type Day,
  decide,
  exactDay,
  type FieldProblem,
  invalidInput,
  NO_ID,
  notFound,
  refuse,
  type Viewer,
} from '../../kernel/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { decideFactDay } from '../core/fact-day.core.js';
import { findOwnPictures } from '../files/animal-file.store.js';
import { getForWrite } from '../store/animal-write.store.js';
import { requireMark } from '../store/mark-authority.store.js';
import { findSession, findSessions, insertSession, supersedeSession } from '../store/photo.store.js';
import { photoSessionRecorded, photoSessionTakenBack } from './mark-ledger.js';

const outcome = z.object({ animalId: z.uuid(), markId: z.uuid(), sessionId: z.uuid() });
type Outcome = z.infer<typeof outcome>;

/** Most sessions of one photo documentation: one a day for well over a year. */
const MAX_SESSIONS = 500;

/** Records that the pictures of a photo documentation were taken anew, or takes such a record back. */
@Injectable()
export class RecordPhotoSession {
  constructor(private readonly uow: UnitOfWork) {}

  /**
   * Gives the session's id. NOT_FOUND, FORBIDDEN, INVALID_INPUT for a file that is no own picture of the animal,
   * NOT_A_PHOTO_DOCUMENTATION, MARK_ENDED, PHOTO_DAY_TAKEN, DAY_IN_FUTURE, FACT_BEFORE_BIRTH.
   */
  async execute(
    viewer: Viewer,
    command: { readonly markId: string; readonly takenOn: Day | null; readonly fileIds: readonly string[] },
  ): Promise<Outcome> {
    return this.uow.write(viewer, { action: 'animal.record-photo-session', input: command, outcome }, async (tx) => {
      const { markId } = command;
      const { mark, keeperId } = await requireMark(tx, viewer, markId);
      const { animalId } = mark;
      if (mark.kind !== 'photo_documentation')
        return refuse('NOT_A_PHOTO_DOCUMENTATION', 'Only a photo documentation has sessions.');
      if (mark.ended !== null) return refuse('MARK_ENDED', `This mark ended (${mark.ended.when.edtf}).`);
      const takenOn = command.takenOn ?? tx.today;
      const possible = decideFactDay(exactDay(takenOn), (await getForWrite(tx, animalId)).birth, tx.today);
      if (!possible.ok) return possible;
      const sessions = (await findSessions(tx.db, [markId])).get(markId) ?? [];
      if (sessions.some((session) => session.takenOn === takenOn))
        return refuse('PHOTO_DAY_TAKEN', `A session of ${takenOn} is recorded already.`);
      if (sessions.length >= MAX_SESSIONS)
        return refuse('TOO_MANY_MARKS', `A photo documentation has at most ${MAX_SESSIONS} sessions.`);
      const pictures = await findOwnPictures(tx, { animalId, keeperId }, command.fileIds);
      const wrong = command.fileIds.flatMap((id, i) => (pictures.has(id) ? [] : [notAPicture(i)]));
      if (wrong.length > 0) throw invalidInput(wrong);
      const sessionId = await insertSession(tx, { markId, takenOn, keeperId, fileIds: command.fileIds });
      await tx.ledger.append(photoSessionRecorded, {
        subjects: [animalId],
        body: { animalId, markId, keeperId, sessionId, takenOn, fileIds: [...command.fileIds] },
      });
      return decide({ animalId, markId, sessionId });
    });
  }

  /** Takes a session back with a reason, and the comparisons it is in with it. NOT_FOUND, FORBIDDEN. */
  async takeBack(viewer: Viewer, command: { readonly sessionId: string; readonly reason: string }): Promise<Outcome> {
    return this.uow.write(viewer, { action: 'animal.take-back-photos', input: command, outcome }, async (tx) => {
      const { sessionId, reason } = command;
      const session = await findSession(tx, sessionId);
      const { mark, keeperId } = await requireMark(tx, viewer, session?.markId ?? NO_ID);
      if ((await findSession(tx, sessionId)) === null) throw notFound('mark');
      const ids = { animalId: mark.animalId, markId: mark.id, sessionId };
      await supersedeSession(tx, sessionId, reason);
      await tx.ledger.append(photoSessionTakenBack, {
        subjects: [mark.animalId],
        body: { ...ids, keeperId },
        personal: { reason },
      });
      return decide(ids);
    });
  }
}

function notAPicture(index: number): FieldProblem {
  return {
    path: `input.fileIds.${index}`,
    message: 'This is no picture of the animal that you sent.',
    remedy: 'Send the picture first (PUT /animals/:id/files) and use the id it gets.',
  };
}
