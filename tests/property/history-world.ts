import { v7 as uuid } from 'uuid';
import { MergeRecords, RecordDeath, RegisterStock, SplitLot, UndoMerge } from '../../libs/custody/index.js';
import { ChangeLot } from '../../libs/custody/app/change-lot.js';
import { CorrectDeath } from '../../libs/custody/app/correct-death.js';
import { JoinLots } from '../../libs/custody/app/join-lots.js';
import { RaiseFromLot } from '../../libs/custody/app/raise-from-lot.js';
import { RecordFate } from '../../libs/custody/app/record-fate.js';
import { type Day, day, exactDay, type Viewer } from '../../libs/kernel/index.js';
import { ChangeMembers } from '../../libs/membership/app/change-members.js';
import { InviteToKeeper } from '../../libs/membership/app/invite-to-keeper.js';
import { type Database } from '../../libs/platform/prisma/index.js';
import { RateLimits } from '../../libs/platform/rate-limit/index.js';
import { transferWorld } from '../support/transfer-world.js';
import { type Model } from './history-model.js';
import { type Command, type Made } from './history-rules.js';
import { type TransferCommand } from './transfer-rules.js';

/** What became of a command: the ids of what it made, or the rule or code that refused it. */
export type Outcome = { readonly made: Made } | { readonly refused: string };

/** A keeper each, and somebody without a keeper of their own, in one club that only warns of quarantine. */
export type Cast = { readonly keepers: readonly string[]; readonly accounts: readonly string[] };

/** Every command of a history, run by the program's own use cases over one database. Call `close` in `afterAll`. */
export async function historyWorld() {
  const w = await transferWorld({ hasty: true });
  const { client, uow, taxonId } = w;
  const database = { client } as Database;
  const clubId = uuid();
  const now = new Date();
  await client.club.create({ data: { id: clubId, slug: 'histories', name: 'Histories', createdAt: now } });
  await client.clubPolicy.create({ data: { clubId, check: 'quarantine', effect: 'warn' } });
  const register = new RegisterStock(uow);
  const split = new SplitLot(uow);
  const join = new JoinLots(uow);
  const raise = new RaiseFromLot(uow);
  const change = new ChangeLot(uow);
  const die = new RecordDeath(uow);
  const correct = new CorrectDeath(uow);
  const fate = new RecordFate(uow);
  const merge = new MergeRecords(uow);
  const undo = new UndoMerge(uow);
  const members = new ChangeMembers(uow);
  const invitations = new InviteToKeeper(uow, new RateLimits(database));

  async function perform(
    viewer: Viewer,
    command: Command | TransferCommand,
    viewerOf: (account: string) => Viewer,
  ): Promise<Made> {
    switch (command.do) {
      case 'register': {
        const { keeper: keeperId, kind, count, since, dam } = command;
        const unsaid = {
          lineId: null,
          name: null,
          sex: null,
          birth: null,
          originClass: null,
          marks: [],
          founder: false,
        };
        const statement = {
          role: 'dam' as const,
          basis: 'observed' as const,
          withoutSire: false,
          evidence: null,
          when: null,
        };
        const parents = dam === null ? [] : [{ ...statement, candidates: [{ parentId: dam, probability: 1 }] }];
        const more = {
          kind,
          keeperId,
          taxonId,
          count,
          countEstimated: false,
          since: day(since),
          arrivedBy: 'registered' as const,
        };
        return [(await register.execute(viewer, { ...unsaid, ...more, parents })).animalId];
      }
      case 'split':
        return [
          (await split.execute(viewer, { lotId: command.animal, count: command.count, on: day(command.on) })).newLotId,
        ];
      case 'join':
        await join.execute(viewer, { fromLotId: command.animal, intoLotId: command.into, on: day(command.on) });
        return [];
      case 'raise': {
        const animals = Array.from({ length: command.count }, () => ({ name: null, sex: null, marks: [] }));
        return (await raise.execute(viewer, { lotId: command.animal, on: day(command.on), animals })).animalIds;
      }
      case 'lose':
        await change.execute(viewer, { kind: 'lost', cause: command.cause, ...lotDay(command) });
        return [];
      case 'find':
        await change.execute(viewer, { kind: 'found', ...lotDay(command) });
        return [];
      case 'recount':
        await change.execute(viewer, { kind: 'recount', estimated: false, reason: 'Counted.', ...lotDay(command) });
        return [];
      case 'die':
        await die.execute(viewer, { animalId: command.animal, on: day(command.on), cause: null, count: command.count });
        return [];
      case 'correctDeath': {
        const { animal: animalId, on } = command;
        const put = on === null ? { alive: true } : { alive: false, when: exactDay(day(on)) };
        await correct.execute(viewer, { animalId, reason: 'A slip.', ...put });
        return [];
      }
      case 'fate': {
        const said = { cause: null, certainty: null, foundBy: null, theft: null };
        await fate.execute(viewer, {
          animalId: command.animal,
          change: command.change,
          when: exactDay(day(command.on)),
          ...said,
        });
        return [];
      }
      case 'merge':
        await merge.execute(viewer, { keepId: command.into, mergeId: command.animal, reason: 'One animal.' });
        return [];
      case 'undoMerge':
        await undo.execute(viewer, { mergedId: command.animal, reason: 'Two animals.' });
        return [];
      case 'invite': {
        const { keeper: keeperId, person } = command;
        await invitations.invite(viewer, { keeperId, email: `${person}@test.example`, role: 'helper' });
        const mail = await client.mailMessage.findFirstOrThrow({
          where: { accountId: person },
          orderBy: { id: 'desc' },
        });
        await invitations.accept(viewerOf(person), /^[\w-]{40,}$/m.exec(mail.text)?.[0] ?? '');
        return [];
      }
      case 'role':
        await members.execute(viewer, { keeperId: command.keeper, accountId: command.person, role: command.role });
        return [];
      default:
        return transferStep(viewer, command);
    }
  }

  async function transferStep(viewer: Viewer, command: TransferCommand): Promise<Made> {
    switch (command.do) {
      case 'offer': {
        const { from: fromKeeperId, to, splitOn, answerBy } = command;
        const { transferId, claimCode } = await w.offer.execute(viewer, {
          fromKeeperId,
          kind: 'gift',
          toKeeperId: to,
          toOutsideParty: to === null ? { name: 'A buyer' } : null,
          items: command.items.map(({ animal: animalId, count }) => ({ animalId, count })),
          splitOn: day(splitOn),
          answerBy: answerBy === null ? null : day(answerBy),
        });
        const { items, toOutsidePartyId } = await client.transfer.findUniqueOrThrow({
          where: { id: transferId },
          include: { items: { orderBy: { id: 'asc' } } },
        });
        // Ids of items are in the order of the offer: they are drawn one after the other.
        return [transferId, toOutsidePartyId ?? '', claimCode ?? '', ...items.map(({ animalId }) => animalId)];
      }
      case 'accept':
        await w.accept.execute(viewer, { transferId: command.transfer });
        return [];
      case 'decline':
        await w.decline.execute(viewer, { transferId: command.transfer });
        return [];
      case 'withdraw':
        await w.withdraw.execute(viewer, { transferId: command.transfer });
        return [];
      case 'cancel':
        await w.cancel.execute(viewer, { transferId: command.transfer, reason: 'No room.' });
        return [];
      case 'send':
        await w.send.execute(viewer, { transferId: command.transfer, sentOn: day(command.on), reason: 'Agreed.' });
        return [];
      case 'fail':
        await w.fail.execute(viewer, { transferId: command.transfer, failure: command.kind });
        return [];
      case 'leaveOut':
        await w.leaveOut.execute(viewer, { transferId: command.transfer, animalIds: [...command.animals] });
        return [];
      case 'receive': {
        const items = command.items.map(({ animal: animalId, told }) => ({ animalId, arrivals: told as never }));
        const { transfer: transferId, more: moreToCome } = command;
        await w.receive.execute(viewer, { transferId, receivedOn: day(command.on), items, moreToCome });
        const entry = await client.ledgerEntry.findFirstOrThrow({
          where: { action: 'transfer.received', subjects: { has: transferId } },
          orderBy: { id: 'desc' },
        });
        const body = JSON.parse(entry.body) as { items: { splitBack: { animalId: string }[] }[] };
        return body.items.flatMap(({ splitBack }) => splitBack.map(({ animalId }) => animalId));
      }
      case 'takeUp':
        await w.takeUp.execute(viewer, { claimCode: command.code, keeperId: command.keeper });
        return [];
      case 'expire':
        await w.expire(day(command.day));
        return [];
    }
  }

  return {
    ...w,

    /** New people for a history of their own. */
    async cast(): Promise<Cast> {
      const keepers = [uuid(), uuid(), uuid()];
      const accounts = [uuid(), uuid(), uuid(), uuid()];
      await client.account.createMany({
        data: accounts.map((id) => ({ id, email: `${id}@test.example`, passwordHash: 'none', createdAt: now })),
      });
      await client.keeper.createMany({
        data: keepers.map((id) => ({ id, name: 'A keeper', kind: 'person' as const, createdAt: now })),
      });
      await client.keeperMember.createMany({
        data: keepers.map((keeperId, i) => ({
          keeperId,
          accountId: accounts[i] ?? '',
          role: 'owner' as const,
          since: now,
        })),
      });
      await client.clubMember.createMany({
        data: keepers.map((keeperId) => ({ clubId, keeperId, joinedOn: new Date('2026-01-01') })),
      });
      return { keepers, accounts };
    },

    /** Runs a command as its account, with the roles the account has by the model, which the tables are compared with. */
    async run(model: Model, command: Command | TransferCommand): Promise<Outcome> {
      const viewerOf = (accountId: string): Viewer => ({
        accountId,
        keepers: model.keepersOf(accountId).map((keeperId) => {
          return { keeperId, role: model.roles.get(keeperId)?.get(accountId) ?? 'helper' };
        }),
        clubIds: [],
        offices: [],
        requestId: uuid(),
      });
      try {
        return { made: await perform(viewerOf(command.by), command, viewerOf) };
      } catch (error) {
        const { rule, code } = error as { rule?: string; code?: string };
        if (rule === undefined && code === undefined) throw error;
        return { refused: rule ?? code ?? '' };
      }
    },
  };
}

export type HistoryWorld = Awaited<ReturnType<typeof historyWorld>>;

function lotDay({ animal: lotId, count, on }: { animal: string; count: number; on: string }): {
  lotId: string;
  count: number;
  on: Day;
} {
  return { lotId, count, on: day(on) };
}
