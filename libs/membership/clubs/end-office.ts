import { Injectable } from '@nestjs/common';
import { z } from 'zod';
import { type Day, decide, forbidden, holdsOffice, notFound, refuse, type Viewer } from '../../kernel/index.js';
import { defineLedgerAction } from '../../platform/ledger/index.js';
import { UnitOfWork } from '../../platform/prisma/index.js';
import { OfficeStore, type OfficeTerm } from './office.store.js';
import { idInput } from '../../platform/input/index.js';

/** `on` is the first day on which the office is no longer held; today when left out. */
export const endOfficeCommand = z.object({
  officeId: idInput,
  on: z.custom<Day>().nullish(),
});
export type EndOfficeCommand = z.infer<typeof endOfficeCommand>;

/** An office is over. For every act that ends one. */
export const officeEnded = defineLedgerAction(
  'office.ended',
  1,
  z.strictObject({ officeId: z.uuid(), clubId: z.uuid(), accountId: z.uuid(), on: z.string() }),
);

/** A registrar ends an office of the club, at once or on a later day. */
@Injectable()
export class EndOffice {
  constructor(
    private readonly uow: UnitOfWork,
    private readonly offices: OfficeStore,
  ) {}

  /**
   * NOT_FOUND for everybody but a registrar of the office's club, as for an office that does not exist; FORBIDDEN for whoever holds
   * it. RULE_REFUSED OFFICE_IN_PAST, OFFICE_ENDED when it is over by then, LAST_REGISTRAR when nobody could appoint any more.
   */
  async execute(viewer: Viewer, command: EndOfficeCommand): Promise<{ officeId: string }> {
    const { officeId } = command;
    const request = { action: 'membership.end-office', input: command, outcome: z.object({ officeId: z.uuid() }) };
    return this.uow.write(viewer, request, async (tx) => {
      const known = await this.offices.findOne(tx, officeId);
      if (known === null) throw notFound('office');
      const { clubId } = known;
      if (!holdsOffice(viewer, { clubId, region: null, taxonId: null })) throw notYours(viewer, known, tx.today);
      await this.offices.lockClub(tx, clubId);
      const registrars = await this.offices.findRegistrars(tx, clubId, viewer.accountId);
      // Read again after the lock: whoever held it may have ended this office.
      const office = await this.offices.findOne(tx, officeId);
      if (office === null) throw notFound('office');
      if (!registrars.isOne) throw notYours(viewer, office, tx.today);
      const asked = command.on ?? tx.today;
      if (asked < tx.today) return refuse('OFFICE_IN_PAST', `An office ends today or later; ${asked} is over.`);
      // One that has not begun ends on its first day: it is never held.
      const on = asked < office.validFrom ? office.validFrom : asked;
      if (office.validTo !== null && office.validTo <= on)
        return refuse('OFFICE_ENDED', `This office ends on ${office.validTo} anyway.`);
      const isRegistrar = office.region === null && office.taxonId === null;
      if (isRegistrar && office.accountId === viewer.accountId && registrars.others === 0)
        return refuse('LAST_REGISTRAR', 'You are the last registrar of the club. Appoint another one first.');
      await this.offices.setEnd(tx, officeId, on);
      await tx.ledger.append(officeEnded, {
        subjects: [officeId, clubId, office.accountId],
        body: { officeId, clubId, accountId: office.accountId, on },
      });
      return decide({ officeId });
    });
  }
}

/** Whoever holds an office reads it; offices of others are read by registrars alone. */
function notYours(viewer: Viewer, { accountId, validTo }: OfficeTerm, today: Day): Error {
  const own = accountId === viewer.accountId && (validTo === null || validTo > today);
  return own ? forbidden('Only a registrar ends an office. You can hand yours over.') : notFound('office');
}
