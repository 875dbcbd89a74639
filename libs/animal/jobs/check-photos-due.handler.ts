import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { day as toDay, formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { NoticeStore } from '../../membership/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { lockAnimals } from '../store/animal-write.store.js';
import { checkPhotosDue, nightlyKey, PHOTOS_DUE, photosDueNotice } from './check-photos-due.job.js';
import { findDuePhotos } from './system-photos.store.js';

type Payload = z.infer<typeof checkPhotosDue.payload>;

/** Documentations a transaction judges at most. */
const BATCH = 500;

const REMEDY =
  'Take the fixed view again, with the scale, and record it with `recordPhotoSession`. Where the pictures stand in for a mark the law asks for, the authority says how often.';

const dueNoticed = defineLedgerAction(
  'animal.photos-due-noticed',
  1,
  z.strictObject({
    day: z.iso.date(),
    notices: z.array(z.strictObject({ markId: z.uuid(), noticeId: z.uuid(), dueOn: z.iso.date() })),
  }),
);

/**
 * Writes one notice for each photo documentation, due day and keeper once that day has come. The animals are locked before the
 * documentations are read for good, so that a session recorded at the same moment is either seen or waits.
 */
@Injectable()
export class CheckPhotosDueHandler implements JobHandler<Payload> {
  readonly job = checkPhotosDue;

  constructor(private readonly notices: NoticeStore) {}

  async handle(tx: Tx, { day, after }: Payload): Promise<void> {
    const on = toDay(day);
    const candidates = await findDuePhotos(tx, on, after, BATCH);
    await lockAnimals(
      tx,
      candidates.map(({ animalId }) => animalId),
    );
    const due = candidates.length === 0 ? [] : await findDuePhotos(tx, on, after, candidates.length);
    const written = await this.notices.writeMany(
      tx,
      due.map(({ markId, animalId, registerNumber, keeperId, fixedView, intervalDays, lastTakenOn, dueOn, key }) => ({
        keeperId,
        kind: PHOTOS_DUE,
        body: photosDueNotice.parse({
          animalId,
          registerNumber: formatRegisterNumber(registerNumber as RegisterNumber),
          markId,
          fixedView,
          lastTakenOn,
          intervalDays,
          remedy: REMEDY,
        }),
        dueOn,
        dedupeKey: key,
      })),
    );
    const notices = due.flatMap(({ markId, dueOn, key }) => {
      const noticeId = written.get(key);
      return noticeId === undefined ? [] : [{ markId, noticeId, dueOn }];
    });
    const subjects = [...new Set(due.filter(({ key }) => written.has(key)).map(({ animalId }) => animalId))];
    if (notices.length > 0) await tx.ledger.append(dueNoticed, { subjects, body: { day, notices } });
    const last = candidates.at(-1)?.markId;
    if (candidates.length < BATCH || last === undefined) return;
    await tx.outbox.send(checkPhotosDue, { day, after: last }, { dedupeKey: nightlyKey(on, last) });
  }
}
