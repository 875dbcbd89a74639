import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { decide, isRegionCode, notFound, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { requireRegistrar, withoutOffice } from '../core/club-standing.core.js';
import { countTaxa, writeListing } from './club-listing.store.js';
import { OfficeStore } from './office.store.js';

/** More taxa than a club is about. */
export const MAX_CLUB_TAXA = 20;

const admission = z.enum(['application', 'invitation']);

/** What is left out stays as it is; null takes it back. */
export const setClubListingCommand = z.object({
  clubId: idInput,
  listed: z.boolean(),
  region: z
    .string()
    .refine(
      isRegionCode,
      'This is not a region code. | Write it like AT-7 (ISO 3166-2), or null where the club has no region.',
    )
    .nullish(),
  taxonIds: z
    .array(idInput)
    .max(MAX_CLUB_TAXA, `More than ${MAX_CLUB_TAXA} taxa. | Name those the club is most about.`)
    .transform((ids) => [...new Set(ids)])
    .nullish()
    .transform((ids) => (ids === null ? [] : ids)),
  admission: admission.nullish().transform((way) => (way === null ? 'application' : way)),
});

const listingSet = defineLedgerAction(
  'club.listing-set',
  1,
  z.strictObject({
    clubId: z.uuid(),
    listed: z.boolean(),
    region: z.string().nullable().optional(),
    taxonIds: z.array(z.uuid()).optional(),
    admission: admission.optional(),
  }),
);

/** A registrar says whether the club is found by name, and what is told of it then. */
@Injectable()
export class SetClubListing {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
  ) {}

  /** FORBIDDEN for others of the club, NOT_FOUND for everybody else, and for an unknown taxon. */
  async execute(viewer: Viewer, command: z.infer<typeof setClubListingCommand>): Promise<{ clubId: string }> {
    const { clubId, ...change } = command;
    requireRegistrar(viewer, clubId);
    const request = { action: 'club.set-listing', input: command, outcome: z.object({ clubId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.offices.lockClub(tx, clubId);
      // Asked again under the lock: another registrar may have ended this office a moment ago.
      if (!(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw withoutOffice(viewer, clubId);
      const { taxonIds } = change;
      if (taxonIds !== undefined && (await countTaxa(tx, taxonIds)) < taxonIds.length) throw notFound('taxon');
      await writeListing(tx, clubId, change);
      await tx.ledger.append(listingSet, { subjects: [clubId], body: { clubId, ...defined(change) } });
      return decide({ clubId });
    });
  }
}

/** Without what was left out: canonical JSON knows no undefined. */
function defined<T extends object>(of: T): T {
  return Object.fromEntries(Object.entries(of).filter(([, value]) => value !== undefined)) as T;
}
