import { type INestApplicationContext } from '@nestjs/common';
import { v7 as uuid } from 'uuid';
import { z } from 'zod';
import { addDays, type Day, dayOf, decide, type Viewer } from '../../libs/kernel/index.js';
import { AccountStore, appoint, OfficeStore } from '../../libs/membership/index.js';
import { hashPassword } from '../../libs/platform/auth/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { defineLedgerAction } from '../../libs/platform/ledger/index.js';
import { Database, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { DEMO_LOADED } from './demo-loaded.js';
import { CLUB, DEMO_PASSWORD, emailOf, OFFICES, type Person } from './people.js';
import { TAXA } from './taxa.js';

const demoLoaded = defineLedgerAction(DEMO_LOADED, 1, z.strictObject({ clubId: z.uuid() }));

/**
 * Loads the scenario through the use cases, on the days on which it is said to have happened. Each step carries an
 * Idempotency-Key, so that a loader killed half-way goes on where it was; the first day of the demo is the club's.
 */
export class DemoLoader {
  private readonly clock: Clock;
  private readonly database: Database;
  private readonly accounts: AccountStore;
  private readonly uow: UnitOfWork;
  private clubId = '';
  private firstDay: Day;

  constructor(private readonly app: INestApplicationContext) {
    this.clock = app.get(Clock, { strict: false });
    this.database = app.get(Database, { strict: false });
    this.accounts = app.get(AccountStore, { strict: false });
    this.uow = app.get(UnitOfWork, { strict: false });
    this.firstDay = this.clock.today();
  }

  /** A day before the demo's first start; 0 is the day of that start. */
  daysAgo(days: number): Day {
    return addDays(this.firstDay, -days);
  }

  /** Sets the server's clock to late morning of that day; what is recorded then carries this moment. */
  goTo(daysAgo: number): Day {
    const day = this.daysAgo(daysAgo);
    this.clock.now = () => new Date(`${day}T10:30:00Z`);
    return day;
  }

  /** A use case or store of the application. */
  get<T>(type: new (...args: never[]) => T): T {
    return this.app.get<T>(type, { strict: false });
  }

  /** Taxa, club and members; whatever is there already stays. */
  async prepare(people: readonly Person[], memberSinceDaysAgo: number): Promise<void> {
    const { client } = this.database;
    for (const { commonName, profile, ...taxon } of TAXA) {
      const known = await client.taxon.findUnique({ where: { scientificName: taxon.scientificName } });
      if (known !== null) continue;
      const id = uuid();
      await client.taxon.create({
        data: {
          id,
          commonName,
          ...taxon,
          profile,
          nameSource: 'names as used in the databases the numbers come from',
          population: { create: { id: uuid() } },
        },
      });
    }
    const club =
      (await client.club.findUnique({ where: { slug: CLUB.slug } })) ??
      (await client.club.create({ data: { id: uuid(), ...CLUB, createdAt: this.clock.now() } }));
    this.clubId = club.id;
    this.firstDay = dayOf(club.createdAt);
    const joinedOn = new Date(this.goTo(memberSinceDaysAgo));
    const passwordHash = await hashPassword(DEMO_PASSWORD);
    for (const person of people) {
      if ((await this.accounts.findForSignIn(emailOf(person.key))) !== null) continue;
      await this.uow.writeAsServer(null, async (tx) => {
        const [accountId, keeperId] = [uuid(), uuid()];
        await this.accounts.insertAccount(tx, { id: accountId, email: emailOf(person.key), passwordHash });
        await this.accounts.insertKeeper(
          tx,
          {
            id: keeperId,
            name: person.keeperName,
            kind: person.kind,
            region: person.region,
            minorUntil: person.minor === undefined ? null : this.daysAgo(-person.minor.days),
          },
          accountId,
        );
        await tx.db.keeper.update({
          where: { id: keeperId },
          data: { holdingsShown: person.holdingsShown, clubs: { create: { clubId: this.clubId, joinedOn } } },
        });
        if (person.minor !== undefined) {
          const guardian = await this.accounts.findForSignIn(emailOf(person.minor.guardian));
          if (guardian === null) throw new Error(`The demo knows no guardian called ${person.minor.guardian}.`);
          await tx.db.keeperMember.create({
            data: { keeperId, accountId: guardian.id, role: 'guardian', since: tx.now },
          });
        }
        return decide(keeperId);
      });
    }
    await this.fillOffices();
  }

  /** Offices begin on the day the clock stands at; whoever has theirs keeps it. */
  private async fillOffices(): Promise<void> {
    const offices = this.get(OfficeStore);
    for (const { who, region } of OFFICES) {
      const account = await this.accounts.findForSignIn(emailOf(who));
      if (account === null) continue;
      await this.uow.writeAsServer(null, async (tx) => {
        const office = { accountId: account.id, clubId: this.clubId, region, taxonId: null };
        const term = { ...office, validFrom: tx.today, validTo: null };
        if (!(await offices.isHeldWithin(tx, term))) await appoint(tx, offices, term);
        return decide(null);
      });
    }
  }

  /** Somebody of the demo, acting: their viewer for one step, and their keeper. */
  async as(key: string, step: string): Promise<{ viewer: Viewer; keeperId: string }> {
    const account = await this.accounts.findForSignIn(emailOf(key));
    const facts = account === null ? null : await this.accounts.findViewerFacts(account.id, null);
    const keeperId = facts?.keepers.find(({ role }) => role !== 'guardian')?.keeperId;
    if (facts === null || keeperId === undefined) throw new Error(`The demo knows nobody called ${key}.`);
    return { viewer: { ...facts, requestId: 'demo', idempotencyKey: `demo:${step}` }, keeperId };
  }

  /** The id of a taxon of the demo. */
  async taxonId(scientificName: string): Promise<string> {
    const { id } = await this.database.client.taxon.findUniqueOrThrow({ where: { scientificName } });
    return id;
  }

  /** The animal or lot of a transfer that has one item. */
  async itemOf(transferId: string): Promise<string> {
    const { animalId } = await this.database.client.transferItem.findFirstOrThrow({ where: { transferId } });
    return animalId;
  }

  /** The first payment that was declared for a transfer. */
  async paymentOf(transferId: string): Promise<string> {
    const { id } = await this.database.client.transferPayment.findFirstOrThrow({
      where: { transferId },
      orderBy: { id: 'asc' },
    });
    return id;
  }

  /** The animal the demo calls by this name. */
  async animalNamed(name: string): Promise<string> {
    const { id } = await this.database.client.animal.findFirstOrThrow({ where: { name }, orderBy: { id: 'asc' } });
    return id;
  }

  /** Notes that the scenario is complete. */
  async finish(): Promise<void> {
    const { clubId } = this;
    await this.uow.writeAsServer(null, async (tx) => {
      await tx.ledger.append(demoLoaded, { subjects: [clubId], body: { clubId } });
      return decide(null);
    });
  }
}
