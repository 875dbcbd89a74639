import { type NestFastifyApplication } from '@nestjs/platform-fastify';
import { v7 as uuid } from 'uuid';
import { RegisterPedigree, type PedigreeAnimal } from '../../../libs/exchange/index.js';
import { day, exactDay } from '../../../libs/kernel/index.js';
import { SignIn } from '../../../libs/membership/index.js';
import { type Config } from '../../../libs/platform/config/index.js';
import { Database, UnitOfWork } from '../../../libs/platform/prisma/index.js';
import { createApp } from '../../api/src/create-app.js';
import { type Herd } from './herd.js';

/** A keeper of the benchmark's club, and the account that acts for it. */
export type Member = { readonly keeperId: string; readonly accountId: string };

/** The application inside this process, not listening: to load with, and to see what it asks of the database. */
export class Registry {
  private constructor(readonly app: NestFastifyApplication) {}

  static async open(config: Config): Promise<Registry> {
    const app = await createApp(config);
    await app.init();
    await app.getHttpAdapter().getInstance().ready();
    return new Registry(app);
  }

  /** A use case or store of the application. */
  get<T>(type: new (...args: never[]) => T): T {
    return this.app.get<T>(type, { strict: false });
  }

  get client() {
    return this.get(Database).client;
  }

  /** A club whose members share their lineage and show their holdings; the account cannot sign in with a password. */
  async makeClub(slug: string, members: number): Promise<Member[]> {
    const [now, id] = [new Date(), uuid()];
    const made = Array.from({ length: members }, (_, i) => ({ i, keeperId: uuid(), accountId: uuid() }));
    await this.client.account.createMany({
      data: made.map(({ accountId, i }) => ({
        id: accountId,
        email: `${slug}-${i}@bench.example`,
        passwordHash: 'none',
        createdAt: now,
      })),
    });
    await this.client.keeper.createMany({
      data: made.map(({ keeperId, i }) => ({
        id: keeperId,
        name: `Keeper ${i}`,
        kind: 'person' as const,
        region: `AT-${(i % 9) + 1}`,
        holdingsShown: 'club' as const,
        createdAt: now,
      })),
    });
    await this.client.keeperMember.createMany({
      data: made.map(({ keeperId, accountId }) => ({ keeperId, accountId, role: 'owner' as const, since: now })),
    });
    await this.client.club.create({ data: { id, slug, name: slug, createdAt: now } });
    await this.client.clubMember.createMany({
      data: made.map(({ keeperId }) => ({ clubId: id, keeperId, joinedOn: new Date('2020-01-01') })),
    });
    return made;
  }

  /** Registers a herd with the keepers of a club, families in turn, and brings the planner's statistics up to date. */
  async register(club: string, scientificName: string, animals: readonly PedigreeAnimal[]): Promise<void> {
    await new RegisterPedigree(this.get(UnitOfWork)).execute({
      club,
      taxon: { scientificName, orderName: 'Testudines', className: 'Reptilia' },
      animals,
    });
    await this.client.$executeRaw`ANALYZE`;
  }

  /** Animals a keeper has now, in the order of registration. */
  async animalsOf({ keeperId }: Member): Promise<string[]> {
    const rows = await this.client.animalAccess.findMany({
      where: { keeperId, relation: 'holder', validTo: null, animal: { count: { gt: 0 } } },
      orderBy: { animalId: 'asc' },
      select: { animalId: true },
    });
    return rows.map(({ animalId }) => animalId);
  }

  async tokenOf({ accountId }: Member): Promise<string> {
    return (await this.get(SignIn).begin(accountId, { address: '127.0.0.1', device: null }, 'bench')).token;
  }

  async close(): Promise<void> {
    await this.app.close();
  }
}

/** A herd as lines of a pedigree file; all but the last `living` animals are dead. The last are born last year. */
export function toPedigreeAnimals(herd: Herd, living: number, prefix: string): PedigreeAnimal[] {
  const size = herd.sire.length;
  const lastYear = new Date().getUTCFullYear() - 1 - (herd.year[size - 1] ?? 0);
  const parent = (number: number | undefined): number | null => (number === undefined || number < 0 ? null : number);
  return Array.from({ length: size }, (_, i) => ({
    ownNumber: `${prefix}${i}`,
    sire: parent(herd.sire[i]),
    dam: parent(herd.dam[i]),
    sex: herd.male[i] === 1 ? ('male' as const) : ('female' as const),
    birth: exactDay(day(`${lastYear + (herd.year[i] ?? 0)}-05-01`)),
    death: i < size - living ? { when: null } : null,
    notes: [],
    listed: true,
  }));
}
