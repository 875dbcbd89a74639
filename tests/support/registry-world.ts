import { v7 as uuid } from 'uuid';
import { insertTaxon } from '../../libs/taxon/index.js';
import { AccountStore } from '../../libs/membership/index.js';
import { AccessTokens } from '../../libs/platform/auth/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { UnitOfWork } from '../../libs/platform/prisma/index.js';
import { decide } from '../../libs/kernel/index.js';
import { type TestApp } from './test-app.js';
import { createPrismaClient } from '../../libs/platform/prisma/index.js';

/** A keeper with an account that is signed in. */
export type TestKeeper = { readonly keeperId: string; readonly accountId: string; readonly token: string };

/** Makes what tests of the registry need, through the API where there is one. */
export class RegistryWorld {
  readonly db;
  private readonly uow: UnitOfWork;

  constructor(private readonly test: TestApp) {
    this.db = createPrismaClient(test.databaseUrl, 2);
    this.uow = new UnitOfWork(this.db, new Clock());
  }

  async keeper(name: string): Promise<TestKeeper> {
    const { openAccount } = await this.test.get<{
      openAccount: { accountId: string; keeperId: string; accessToken: string };
    }>(`mutation ($input: OpenAccountInput!) { openAccount(input: $input) { accountId keeperId accessToken } }`, {
      input: { email: `${uuid()}@example.org`, password: 'a long enough password', keeperName: name },
    });
    return { keeperId: openAccount.keeperId, accountId: openAccount.accountId, token: openAccount.accessToken };
  }

  /** The same as rows, without a password: for worlds of very many keepers. */
  async keeperInRows(name: string): Promise<TestKeeper> {
    const [accountId, keeperId] = [uuid(), uuid()];
    const accounts = this.test.app.get(AccountStore, { strict: false });
    const sessionId = await this.uow.writeAsServer(null, async (tx) => {
      await accounts.insertAccount(tx, { id: accountId, email: `${accountId}@example.org`, passwordHash: 'none' });
      await accounts.insertKeeper(tx, { id: keeperId, name, kind: 'person', region: null }, accountId);
      const id = uuid();
      const session = { id, accountId, createdAt: tx.now, renewedAt: tx.now, expiresAt: new Date('2100-01-01') };
      await tx.db.session.create({ data: session });
      return decide(id);
    });
    const { token } = await this.test.app.get(AccessTokens, { strict: false }).issue({ accountId, sessionId });
    return { keeperId, accountId, token };
  }

  /** A club with these members since last year. */
  async club(...members: TestKeeper[]): Promise<string> {
    const id = uuid();
    await this.db.club.create({ data: { id, slug: `club-${id}`, name: 'A club', createdAt: new Date() } });
    await this.db.clubMember.createMany({
      data: members.map(({ keeperId }) => ({ clubId: id, keeperId, joinedOn: new Date('2025-01-01') })),
    });
    return id;
  }

  async taxon(): Promise<string> {
    const { id } = await this.uow.writeAsServer(null, async (tx) =>
      decide(
        await insertTaxon(
          tx,
          {
            scientificName: `Testudo ${uuid()}`,
            commonName: 'Tortoise',
            className: 'Reptilia',
            orderName: 'Testudines',
            nameSource: 'test',
            quarantineDays: 60,
            quarantineSource: 'test',
          },
          [],
        ),
      ),
    );
    return id;
  }

  /** Registers an animal through the API and gives its id. */
  async animal(keeper: TestKeeper, taxonId: string, more: object = {}): Promise<string> {
    const answer = await this.test.get<{ registerAnimal: { animal: { id: string } } }>(
      `mutation ($input: RegisterAnimalInput!) { registerAnimal(input: $input) { animal { id } } }`,
      { input: { keeperId: keeper.keeperId, taxonId, ...more } },
      keeper.token,
    );
    return answer.registerAnimal.animal.id;
  }

  /** Registers a lot through the API and gives its id. */
  async lot(keeper: TestKeeper, taxonId: string, count: number, more: object = {}): Promise<string> {
    const answer = await this.test.get<{ registerLot: { lot: { id: string } } }>(
      `mutation ($input: RegisterLotInput!) { registerLot(input: $input) { lot { id } } }`,
      { input: { keeperId: keeper.keeperId, taxonId, count, ...more } },
      keeper.token,
    );
    return answer.registerLot.lot.id;
  }

  async close(): Promise<void> {
    await this.db.$disconnect();
  }
}
