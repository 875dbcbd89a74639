import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { v7 as uuid } from 'uuid';
import {
  type Access,
  accessLevel,
  type AccessFact,
  closeAccess,
  findAccess,
  openAccess,
} from '../../libs/access/index.js';
import { insertAnimal } from '../../libs/animal/index.js';
import { begin, handOver, setOwners } from '../../libs/custody/index.js';
import { day, decide, type Viewer } from '../../libs/kernel/index.js';
import { Clock } from '../../libs/platform/clock.js';
import { createPrismaClient, type PrismaClient, type Tx, UnitOfWork } from '../../libs/platform/prisma/index.js';
import { insertTaxon } from '../../libs/taxon/index.js';
import { createTestDatabase, type TestDatabase } from '../support/template-db.js';

const SINCE = day('2026-01-01');
const MOVED = day('2026-03-01');

/** Every role a viewer can have towards an animal, and the level the design gives it (docs of `AccessLevel`). */
const ROLES = {
  holder: 'full',
  helper: 'full',
  pastHolder: 'past',
  owner: 'full',
  pastOwner: 'past',
  receiver: 'offered',
  closedReceiver: 'none',
  clubMate: 'club',
  clubMateOfOwner: 'club',
  clubMateUnshared: 'none',
  clubMateOfPastHolder: 'none',
  clubMateOfReceiver: 'none',
  exClubMate: 'none',
  mateOfLeaver: 'none',
  stranger: 'none',
} as const;
type Role = keyof typeof ROLES;

type Relation = {
  animalId: string;
  keeperId: string;
  relation: AccessFact['relation'];
  closed: boolean;
  readsUntil: Date | null;
};

/**
 * A small world, made through the writes of custody. Beside it stands the list of relations the design says must follow
 * from them, from which the policy is asked; the scope is asked of the database.
 */
class SmallWorld {
  readonly viewers = new Map<Role, Viewer>();
  readonly relations: Relation[] = [];
  readonly memberships: { clubId: string; keeperId: string; left: boolean }[] = [];
  readonly unshared = new Set<string>();
  readonly animals: { id: string; kind: 'individual' | 'lot' }[] = [];

  constructor(private readonly client: PrismaClient) {}

  async build(): Promise<void> {
    const keeper = async (lineageShared = true): Promise<string> => {
      const id = uuid();
      await this.client.keeper.create({
        data: { id, name: 'Keeper', kind: 'person', lineageShared, createdAt: new Date() },
      });
      if (!lineageShared) this.unshared.add(id);
      return id;
    };
    const club = async (members: { keeperId: string; left?: boolean }[]): Promise<string> => {
      const id = uuid();
      await this.client.club.create({ data: { id, slug: id, name: 'Club', createdAt: new Date() } });
      for (const { keeperId, left = false } of members) {
        await this.client.clubMember.create({
          data: {
            clubId: id,
            keeperId,
            joinedOn: new Date('2025-01-01'),
            leftOn: left ? new Date('2026-02-01') : null,
          },
        });
        this.memberships.push({ clubId: id, keeperId, left });
      }
      return id;
    };
    const viewer = (role: Role, keeperId: string, memberRole: 'owner' | 'helper' = 'owner'): void => {
      const clubIds = this.memberships
        .filter((each) => each.keeperId === keeperId && !each.left)
        .map((each) => each.clubId);
      this.viewers.set(role, {
        accountId: uuid(),
        keepers: [{ keeperId, role: memberRole }],
        clubIds,
        offices: [],
        requestId: uuid(),
      });
    };
    const [past, holder, owner, pastOwner, receiver, closed] = [
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
    ];
    const hiding = await keeper(false);
    const [mate, ownersMate, unsharedMate, pastMate, receiversMate, exMate, leaversMate, stranger] = [
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
      await keeper(),
    ];
    await club([{ keeperId: holder }, { keeperId: mate }]);
    await club([{ keeperId: owner }, { keeperId: ownersMate }]);
    await club([{ keeperId: hiding }, { keeperId: unsharedMate }]);
    await club([{ keeperId: past }, { keeperId: pastMate }]);
    await club([{ keeperId: receiver }, { keeperId: receiversMate }]);
    await club([{ keeperId: holder }, { keeperId: exMate, left: true }]);
    await club([{ keeperId: holder, left: true }, { keeperId: leaversMate }]);
    viewer('holder', holder);
    viewer('helper', holder, 'helper');
    viewer('pastHolder', past);
    viewer('owner', owner);
    viewer('pastOwner', pastOwner);
    viewer('receiver', receiver);
    viewer('closedReceiver', closed);
    viewer('clubMate', mate);
    viewer('clubMateOfOwner', ownersMate);
    viewer('clubMateUnshared', unsharedMate);
    viewer('clubMateOfPastHolder', pastMate);
    viewer('clubMateOfReceiver', receiversMate);
    viewer('exClubMate', exMate);
    viewer('mateOfLeaver', leaversMate);
    viewer('stranger', stranger);

    const uow = new UnitOfWork(this.client, new Clock());
    for (const kind of ['individual', 'lot'] as const) {
      await uow.writeAsServer(null, async (tx) =>
        decide(await this.addAnimal(tx, kind, { past, holder, owner, pastOwner, receiver, closed, hiding })),
      );
    }
  }

  private async addAnimal(
    tx: Tx,
    kind: 'individual' | 'lot',
    who: Record<'past' | 'holder' | 'owner' | 'pastOwner' | 'receiver' | 'closed' | 'hiding', string>,
  ): Promise<void> {
    const taxon = await insertTaxon(
      tx,
      {
        scientificName: uuid(),
        commonName: 'c',
        className: 'c',
        orderName: 'o',
        nameSource: 's',
        quarantineDays: 30,
        quarantineSource: 's',
      },
      [],
    );
    const count = kind === 'lot' ? 5 : 1;
    const { id } = await insertAnimal(tx, {
      kind,
      taxonId: taxon.id,
      lineId: null,
      count,
      countEstimated: false,
      keeperId: who.past,
      on: SINCE,
      facts: [],
      marks: [],
    });
    this.animals.push({ id, kind });
    const sole = (keeperId: string) => [{ owner: { kind: 'keeper' as const, keeperId }, parts: 1 }];
    await begin(tx, {
      animalId: id,
      holder: { kind: 'keeper', keeperId: who.past },
      from: SINCE,
      arrivedBy: 'registered',
    });
    await setOwners(tx, { animalId: id, from: SINCE, shares: sole(who.pastOwner) });
    await handOver(tx, {
      animalId: id,
      to: { kind: 'keeper', keeperId: who.holder },
      on: MOVED,
      leftBy: 'given',
      arrivedBy: 'received',
    });
    // The keeper who shares nothing owns a share as well: their club-mates must not see the animal through them.
    await setOwners(tx, { animalId: id, from: MOVED, shares: [...sole(who.owner), ...sole(who.hiding)] });
    const offers = [who.receiver, who.closed].map((keeperId) => ({
      animalId: id,
      keeperId,
      relation: 'receiver' as const,
    }));
    await openAccess(tx, offers, MOVED);
    await closeAccess(tx, offers.slice(1), tx.today);
    const relation = (keeperId: string, name: Relation['relation'], closed: boolean): void => {
      this.relations.push({
        animalId: id,
        keeperId,
        relation: name,
        closed,
        readsUntil: closed && name !== 'receiver' ? tx.now : null,
      });
    };
    relation(who.past, 'holder', true);
    relation(who.pastOwner, 'owner', true);
    relation(who.holder, 'holder', false);
    relation(who.owner, 'owner', false);
    relation(who.hiding, 'owner', false);
    relation(who.receiver, 'receiver', false);
    relation(who.closed, 'receiver', true);
  }

  /** What the policy says, from the relations alone. */
  policy(viewer: Viewer, animalId: string): Access {
    const keepers = new Set(viewer.keepers.map((keeper) => keeper.keeperId));
    const of = this.relations.filter((relation) => relation.animalId === animalId);
    const sharedInClub = of.some(
      (relation) =>
        relation.relation !== 'receiver' &&
        !relation.closed &&
        !this.unshared.has(relation.keeperId) &&
        this.memberships.some(
          (each) => each.keeperId === relation.keeperId && !each.left && viewer.clubIds.includes(each.clubId),
        ),
    );
    return accessLevel({ own: of.filter((relation) => keepers.has(relation.keeperId)), sharedInClub });
  }
}

describe('the scope of reads agrees with the policy', () => {
  let database: TestDatabase;
  let client: PrismaClient;
  let world: SmallWorld;
  beforeAll(async () => {
    database = await createTestDatabase();
    client = createPrismaClient(database.url, 2);
    world = new SmallWorld(client);
    await world.build();
  });
  afterAll(async () => {
    await client.$disconnect();
    await database.drop();
  });

  it.each(Object.entries(ROLES) as [Role, string][])('%s reads at level %s', async (role, expected) => {
    const viewer = world.viewers.get(role);
    if (viewer === undefined) throw new Error(`The world has no ${role}`);
    expect(world.animals).toHaveLength(2);
    const scope = await findAccess(
      client,
      viewer,
      world.animals.map((animal) => animal.id),
    );
    for (const animal of world.animals) {
      const policy = world.policy(viewer, animal.id);
      expect({ kind: animal.kind, level: policy.level }).toEqual({ kind: animal.kind, level: expected });
      expect(scope.get(animal.id) ?? { level: 'none', readsUntil: null }).toEqual(policy);
    }
  });

  it('for a viewer who acts for several keepers, too', async () => {
    const roles = Object.keys(ROLES) as Role[];
    for (const first of roles) {
      for (const second of roles) {
        const [a, b] = [world.viewers.get(first), world.viewers.get(second)];
        if (a === undefined || b === undefined) throw new Error('A role has no viewer');
        const both = { ...a, keepers: [...a.keepers, ...b.keepers], clubIds: [...a.clubIds, ...b.clubIds] };
        const scope = await findAccess(
          client,
          both,
          world.animals.map((animal) => animal.id),
        );
        for (const animal of world.animals) {
          expect([first, second, scope.get(animal.id) ?? { level: 'none', readsUntil: null }]).toEqual([
            first,
            second,
            world.policy(both, animal.id),
          ]);
        }
      }
    }
  });
});
