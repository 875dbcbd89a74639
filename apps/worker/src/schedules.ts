import { requestPhotosCheck } from '../../../libs/animal/index.js';
import { requestExpiryCheck } from '../../../libs/document/index.js';
import { requestQuarantineCheck } from '../../../libs/health/index.js';
import { deleteOldLivingChanges } from '../../../libs/lineage/index.js';
import { deleteOldCandidateChanges } from '../../../libs/matching/index.js';
import { requestDigests } from '../../../libs/membership/index.js';
import {
  deleteOldIdempotencyRecords,
  deleteOldMessages,
  type ScheduledTask,
} from '../../../libs/platform/jobs/index.js';
import { reopenLost } from '../../../libs/platform/outbox/index.js';
import { requestOriginSweep } from '../../../libs/provenance/index.js';
import {
  requestExpireOffers,
  requestInstalmentReminders,
  requestLapseClaims,
  requestLoanReminders,
} from '../../../libs/transfer/index.js';
import { type PrismaClient } from '../../../libs/platform/prisma/index.js';
import { type JobQueue } from '../../../libs/platform/queue/index.js';

/** Everything the registry does by the clock. Nightly work is spread over odd minutes so that no two tasks meet. */
export function scheduledTasks(client: PrismaClient, queue: JobQueue): ScheduledTask[] {
  return [
    {
      name: 'reopen-lost-messages',
      pattern: '*/3 * * * *',
      run: async (slot) => void (await reopenLost(client, queue, slot)),
    },
    {
      name: 'delete-old-idempotency-records',
      pattern: '17 2 * * *',
      run: async (slot) => void (await deleteOldIdempotencyRecords(client, slot)),
    },
    {
      name: 'delete-old-messages',
      pattern: '19 2 * * *',
      run: async (slot) => void (await deleteOldMessages(client, slot)),
    },
    {
      name: 'delete-old-living-changes',
      pattern: '21 2 * * *',
      run: async (slot) => void (await deleteOldLivingChanges(client, slot)),
    },
    {
      name: 'delete-old-candidate-changes',
      pattern: '7 * * * *',
      run: async (slot) => void (await deleteOldCandidateChanges(client, slot)),
    },
    {
      name: 'check-document-expiry',
      pattern: '41 2 * * *',
      run: (slot) => requestExpiryCheck(client, slot),
    },
    {
      name: 'check-quarantine-ends',
      pattern: '29 2 * * *',
      run: (slot) => requestQuarantineCheck(client, slot),
    },
    {
      name: 'check-photos-due',
      pattern: '37 2 * * *',
      run: (slot) => requestPhotosCheck(client, slot),
    },
    {
      name: 'expire-offers',
      pattern: '13 0 * * *',
      run: (slot) => requestExpireOffers(client, slot),
    },
    {
      name: 'lapse-claims',
      pattern: '23 0 * * *',
      run: (slot) => requestLapseClaims(client, slot),
    },
    {
      name: 'remind-instalments',
      pattern: '47 0 * * *',
      run: (slot) => requestInstalmentReminders(client, slot),
    },
    {
      name: 'remind-loans',
      pattern: '57 0 * * *',
      run: (slot) => requestLoanReminders(client, slot),
    },
    {
      name: 'sweep-origins',
      pattern: '53 2 * * *',
      run: (slot) => requestOriginSweep(client, slot),
    },
    {
      name: 'send-digests',
      pattern: '0 7 * * *',
      run: (slot) => requestDigests(client, slot),
    },
  ];
}
