import { Injectable } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { type Day, decide, type DomainError, isRegionCode, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { requireRegistrar, withoutOffice } from '../core/club-standing.core.js';
import { namingAddress } from './member-addresses.js';
import { OfficeStore, type OfficeTerm } from './office.store.js';
import { RateLimits } from '../../platform/rate-limit/index.js';
import { idInput } from '../../platform/input/index.js';

const region = z
  .string()
  .refine(
    isRegionCode,
    'This is not a region code. | Write it like AT-7 (ISO 3166-2), or leave it out for all regions.',
  );

/** What a registrar says to appoint a coordinator. Days are checked as days by the scalar that carries them. */
export const appointCoordinatorCommand = z
  .object({
    clubId: idInput,
    email: z
      .string()
      .trim()
      .max(254, 'The address is too long. | Write the e-mail address the person signs in with.')
      .transform((text) => text.toLowerCase()),
    region: region.nullish().transform((code) => code ?? null),
    taxonId: idInput.nullish().transform((taxonId) => taxonId ?? null),
    validFrom: z.custom<Day>().nullish(),
    validTo: z.custom<Day>().nullish(),
  })
  .refine(({ validFrom, validTo }) => !validFrom || !validTo || validFrom < validTo, {
    path: ['validTo'],
    message: 'The office ends before it begins. | Name a later day, or leave it out for an open term.',
  });
export type AppointCoordinatorCommand = z.infer<typeof appointCoordinatorCommand>;

const officeAppointed = defineLedgerAction(
  'office.appointed',
  1,
  z.strictObject({
    officeId: z.uuid(),
    clubId: z.uuid(),
    accountId: z.uuid(),
    region: z.string().nullable(),
    taxonId: z.uuid().nullable(),
    validFrom: z.string(),
    validTo: z.string().nullable(),
  }),
);

/** Writes an office with its ledger entry. For the use case, and for the seed, which sets a club's first registrar. */
export async function appoint(tx: Tx, offices: OfficeStore, office: Omit<OfficeTerm, 'id'>): Promise<string> {
  const officeId = uuid();
  await offices.insert(tx, { ...office, id: officeId });
  await tx.ledger.append(officeAppointed, {
    subjects: [officeId, office.clubId, office.accountId],
    body: { officeId, ...office },
  });
  return officeId;
}

/** A registrar appoints a coordinator, or another registrar, among those who act for members of the club. */
@Injectable()
export class AppointCoordinator {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
    private readonly limits: RateLimits,
  ) {}

  /**
   * FORBIDDEN for others of the club, NOT_FOUND for everybody else, as for a club that does not exist; for an address nobody of
   * the club has, and for an unknown taxon. RULE_REFUSED OFFICE_IN_PAST, OFFICE_ENDS_TOO_EARLY, OFFICE_HELD; RATE_LIMITED by
   * `namingAddress`.
   */
  async execute(viewer: Viewer, command: AppointCoordinatorCommand): Promise<{ officeId: string }> {
    requireRegistrar(viewer, command.clubId);
    return namingAddress(this.limits, viewer, (unknown) => this.appoint(viewer, command, unknown));
  }

  private appoint(
    viewer: Viewer,
    command: AppointCoordinatorCommand,
    unknown: () => DomainError,
  ): Promise<{ officeId: string }> {
    const { clubId, region: code, taxonId } = command;
    const request = { action: 'membership.appoint', input: command, outcome: z.object({ officeId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      await this.offices.lockClub(tx, clubId);
      // Asked again under the lock: another registrar may have ended this office a moment ago.
      if (!(await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne) throw withoutOffice(viewer, clubId);
      const accountId = await this.offices.findMemberAccount(tx, clubId, command.email);
      if (accountId === null) throw unknown();
      if (taxonId !== null && !(await this.offices.taxonExists(tx, taxonId))) throw notFound('taxon');
      const validFrom = command.validFrom ?? tx.today;
      const validTo = command.validTo ?? null;
      if (validFrom < tx.today)
        return refuse('OFFICE_IN_PAST', `An office begins today or later; ${validFrom} is over.`);
      if (validTo !== null && validTo <= validFrom)
        return refuse('OFFICE_ENDS_TOO_EARLY', `The office would end (${validTo}) before it begins (${validFrom}).`);
      const office = { clubId, accountId, region: code, taxonId, validFrom, validTo };
      if (await this.offices.isHeldWithin(tx, office))
        return refuse('OFFICE_HELD', 'This person already has this office on some of these days. End that one first.');
      return decide({ officeId: await appoint(tx, this.offices, office) });
    });
  }
}
