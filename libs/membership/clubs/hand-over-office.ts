import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { type Day, decide, type DomainError, holdsOffice, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { idInput } from '../../platform/input/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { type Tx, UnitOfWork } from '../../platform/prisma/index.js';
import { RateLimits } from '../../platform/rate-limit/index.js';
import { emailAddress } from '../session/password.schema.js';
import { NoticeStore } from '../notices/notice.store.js';
import { namingAddress } from './member-addresses.js';
import { OfficeStore, type OfficeTerm } from './office.store.js';
import { appoint } from './appoint-coordinator.js';

/** `on` is the first day of the one and the first day without the other; today when left out. */
export const handOverOfficeCommand = z.object({
  officeId: idInput,
  email: emailAddress,
  on: z.custom<Day>().nullish(),
});
export type HandOverOfficeCommand = z.infer<typeof handOverOfficeCommand>;

const handedOver = defineLedgerAction(
  'office.handed-over',
  1,
  z.strictObject({
    officeId: z.uuid(),
    toOfficeId: z.uuid(),
    clubId: z.uuid(),
    fromAccountId: z.uuid(),
    toAccountId: z.uuid(),
    on: z.string(),
  }),
);

/**
 * An office goes from one person to another in one act, with no day between them and none for both. What waits in it goes along by
 * itself: applications are the club's, reports and stock are read by region and taxon, and none is written to a person.
 */
@Injectable()
export class HandOverOffice {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
    private readonly notices: NoticeStore,
    private readonly limits: RateLimits,
  ) {}

  /**
   * The rest of the term is the other's. NOT_FOUND for everybody but whoever holds the office and a registrar of the club, and for an
   * address nobody of the club has. RULE_REFUSED OFFICE_IN_PAST, OFFICE_ENDED, OFFICE_HELD, OFFICE_HANDED_LATER for a registrar's;
   * RATE_LIMITED by `namingAddress`.
   */
  async execute(viewer: Viewer, command: HandOverOfficeCommand): Promise<{ officeId: string }> {
    return namingAddress(this.limits, viewer, (unknown) => this.handOver(viewer, command, unknown));
  }

  private handOver(
    viewer: Viewer,
    command: HandOverOfficeCommand,
    unknown: () => DomainError,
  ): Promise<{ officeId: string }> {
    const { officeId } = command;
    const request = { action: 'membership.hand-over', input: command, outcome: z.object({ officeId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      // Strangers do not get to wait for the lock of a club.
      const { clubId } = await this.getOwn(tx, viewer, officeId);
      await this.offices.lockClub(tx, clubId);
      // Read after the lock: of two hand-overs of one office the second finds it ended.
      const office = await this.getOwn(tx, viewer, officeId);
      const { validFrom, validTo } = office;
      const asked = command.on ?? tx.today;
      if (asked < tx.today)
        return refuse('OFFICE_IN_PAST', `An office is handed over today or later; ${asked} is over.`);
      const on = asked < validFrom ? validFrom : asked;
      if (validTo !== null && validTo <= on) return refuse('OFFICE_ENDED', `This office ends on ${validTo} anyway.`);
      // Until a later day the other could leave the club, and it would have nobody who can appoint.
      const isRegistrar = office.region === null && office.taxonId === null;
      if (isRegistrar && on > tx.today && validFrom <= tx.today)
        return refuse('OFFICE_HANDED_LATER', 'The office of a registrar is handed over today, or on the day itself.');
      const accountId = await this.offices.findMemberAccount(tx, clubId, command.email);
      if (accountId === null) throw unknown();
      const next = { clubId, accountId, region: office.region, taxonId: office.taxonId, validFrom: on, validTo };
      if (await this.offices.isHeldWithin(tx, next))
        return refuse('OFFICE_HELD', 'This person already has this office on some of these days. End that one first.');
      await this.offices.setEnd(tx, officeId, on);
      const toOfficeId = await appoint(tx, this.offices, next);
      await tx.ledger.append(handedOver, {
        subjects: [officeId, toOfficeId, clubId, office.accountId, accountId],
        body: { officeId, toOfficeId, clubId, fromAccountId: office.accountId, toAccountId: accountId, on },
      });
      const keeperId = await this.offices.findMemberKeeper(tx, clubId, accountId);
      if (keeperId !== null)
        await this.notices.write(tx, {
          keeperId,
          kind: 'office_handed_over',
          body: { clubId, officeId: toOfficeId },
          dueOn: on,
          dedupeKey: `office-handed-over:${toOfficeId}`,
        });
      return decide({ officeId: toOfficeId });
    });
  }

  /** An office the viewer holds, or one of a club whose registrar it is. NOT_FOUND for any other. */
  private async getOwn(tx: Tx, viewer: Viewer, officeId: string): Promise<OfficeTerm> {
    const office = await this.offices.findOne(tx, officeId);
    if (office === null) throw notFound('office');
    const { clubId, validTo } = office;
    const registrar =
      holdsOffice(viewer, { clubId, region: null, taxonId: null }) &&
      (await this.offices.findRegistrars(tx, clubId, viewer.accountId)).isOne;
    const own = office.accountId === viewer.accountId && (validTo === null || validTo > tx.today);
    if (!registrar && !own) throw notFound('office');
    return office;
  }
}
