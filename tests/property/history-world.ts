import { v7 as uuid } from 'uuid';
import {
  MergeRecords,
  RecordDeath,
  registerAllStock,
  RegisterStock,
  SplitLot,
  UndoMerge,
} from '../../libs/custody/index.js';
import { ChangeLot } from '../../libs/custody/app/change-lot.js';
import { CorrectLotChange } from '../../libs/custody/app/correct-lot-change.js';
import { CorrectFate } from '../../libs/custody/app/correct-fate.js';
import { JoinLots } from '../../libs/custody/app/join-lots.js';
import { RaiseFromLot } from '../../libs/custody/app/raise-from-lot.js';
import { RecordFate } from '../../libs/custody/app/record-fate.js';
import { type Day, day, decide, DomainError, exactDay, type Viewer } from '../../libs/kernel/index.js';
import { ChangeMembers } from '../../libs/membership/app/change-members.js';
import { InviteToKeeper } from '../../libs/membership/app/invite-to-keeper.js';
import { RecordClutch } from '../../libs/breeding/app/record-clutch.js';
import { RecordEggEvents } from '../../libs/breeding/app/record-egg-events.js';
import { RecordHatchlings } from '../../libs/breeding/app/record-hatchlings.js';
import { type Database, type UnitOfWork } from '../../libs/platform/prisma/index.js';
import { RateLimits } from '../../libs/platform/rate-limit/index.js';
import { CountersignTransfer } from '../../libs/transfer/checks/countersign-transfer.js';
import { WithdrawCountersignature } from '../../libs/transfer/checks/withdraw-countersignature.js';
import { ConfirmHandOver } from '../../libs/transfer/hand-over/confirm-hand-over.js';
import { HandOverSteps } from '../../libs/transfer/hand-over/hand-over-steps.js';
import { OpenHandOver } from '../../libs/transfer/hand-over/open-hand-over.js';
import { PickYoung } from '../../libs/transfer/loan-young/pick-young.js';
import { loanWorld, TERMS } from '../support/loan-world.js';
import { titleWorld } from '../support/title-world.js';
import { transferWorld } from '../support/transfer-world.js';
import { changeAt } from './change-tables.js';
import { type LoanSaid, type Model } from './history-model.js';
import { type LoanCommand } from './loan-rules.js';
import { type CodeCommand } from './code-rules.js';
import { type EggCommand } from './egg-rules.js';
import { type AnyCommand } from './forecasts.js';
import { type Made } from './forecast.js';
import { type TitleCommand } from './title-rules.js';
import { type Arrivals, type TransferCommand } from './transfer-rules.js';
import { type ArrivalState } from '../../libs/transfer/core/transfer.core.js';

/** What became of a command: the ids of what it made, or the rule or code that refused it. */
export type Outcome = { readonly made: Made } | { readonly refused: string };

/** A record that is there when a history begins. */
type Stock = {
  readonly id: string;
  readonly kind: 'individual' | 'lot';
  readonly keeper: string;
  readonly count: number;
  readonly since: string;
};

/** A keeper each, and somebody without a keeper of their own, in one club that only warns of quarantine. */
export type Cast = {
  readonly keepers: readonly string[];
  readonly accounts: readonly string[];
  /** The keeper that is a minor's, in some casts; the account without a keeper of its own is the guardian. */
  readonly minor: string | null;
  readonly stock: readonly Stock[];
};

function stockOf([one = '', two = '', three = '']: readonly string[]): Stock[] {
  const since = '2026-06-01';
  return [
    { id: uuid(), kind: 'individual', keeper: one, count: 1, since },
    { id: uuid(), kind: 'lot', keeper: one, count: 6, since },
    { id: uuid(), kind: 'individual', keeper: two, count: 1, since: '2026-06-03' },
    { id: uuid(), kind: 'lot', keeper: three, count: 3, since },
  ];
}

/** Every command of a history, run by the program's own use cases over one database. Call `close` in `afterAll`. */
export async function historyWorld() {
  const w = await transferWorld({ hasty: true });
  const t = titleWorld(w);
  const l = loanWorld(w);
  const { client, uow, taxonId } = w;
  sendAgain(uow);
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
  const correct = new CorrectFate(uow);
  const correctChange = new CorrectLotChange(uow);
  const fate = new RecordFate(uow);
  const merge = new MergeRecords(uow);
  const undo = new UndoMerge(uow);
  const lay = new RecordClutch(uow);
  const tend = new RecordEggEvents(uow);
  const hatch = new RecordHatchlings(uow);
  const members = new ChangeMembers(uow);
  const limits = new RateLimits(database);
  const invitations = new InviteToKeeper(uow, limits);
  const openCode = new OpenHandOver(uow, w.store, w.codes, database);
  const steps = new HandOverSteps(w.accept, w.send, w.receive);
  const pickYoung = new PickYoung(uow, w.store);
  const sign = new CountersignTransfer(uow, w.store);
  const unsign = new WithdrawCountersignature(uow, w.store);
  const enterCode = new ConfirmHandOver(uow, w.store, w.codes, limits, steps);

  async function perform(viewer: Viewer, command: AnyCommand, viewerOf: (account: string) => Viewer): Promise<Made> {
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
      case 'correctChange': {
        const { lot, at, old, takeBack, count, on, loss } = command;
        const put = { count: count ?? undefined, on: on === null ? undefined : day(on), cause: loss ?? undefined };
        const changeId = await changeAt(client, lot, at, old);
        await correctChange.execute(viewer, { changeId, reason: 'A slip.', takeBack, ...put });
        return [];
      }
      case 'correctDeath': {
        const { animal: animalId, on } = command;
        const put = on === null ? { takeBack: true } : { takeBack: false, when: exactDay(day(on)) };
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
        // Whoever acts for several keepers is taken to act for one of them: which one the ledger says.
        return [(await bodyOf('animal.fate-recorded', command.animal))['keeperId'] as string];
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
      case 'declare':
      case 'confirm':
      case 'question':
      case 'claim':
      case 'propose':
      case 'agree':
      case 'reply':
      case 'withdrawClaim':
        return titleStep(viewer, command);
      case 'lay':
      case 'tend':
      case 'hatch':
        return eggStep(viewer, command);
      case 'openCode':
      case 'enterCode':
      case 'wait':
        return codeStep(viewer, command);
      case 'askDay':
      case 'recall':
      case 'answerDay':
      case 'withdrawDay':
      case 'pickYoung':
        return loanStep(viewer, command);
      case 'countersign':
        await sign.execute(viewer, { transferId: command.transfer });
        return [];
      case 'uncountersign':
        await unsign.execute(viewer, { transferId: command.transfer });
        return [];
      default:
        return transferStep(viewer, command);
    }
  }

  /** The records that stayed with the giver when something was last received. */
  async function splitBackOf(transferId: string): Promise<Made> {
    const { items } = await bodyOf('transfer.received', transferId);
    return (items as { splitBack: { animalId: string }[] }[]).flatMap(({ splitBack }) =>
      splitBack.map(({ animalId }) => animalId),
    );
  }

  /** The body of the last entry of a kind about a subject. */
  async function bodyOf(action: string, subject: string): Promise<Record<string, unknown>> {
    const entry = await client.ledgerEntry.findFirstOrThrow({
      where: { action, subjects: { has: subject } },
      orderBy: { id: 'desc' },
    });
    return JSON.parse(entry.body) as Record<string, unknown>;
  }

  async function titleStep(viewer: Viewer, command: TitleCommand): Promise<Made> {
    switch (command.do) {
      case 'declare': {
        const { transfer: transferId, minor, on } = command;
        await t.declare.execute(viewer, { transferId, minor, paidOn: day(on) });
        return [(await bodyOf('transfer.payment-declared', transferId))['paymentId'] as string];
      }
      case 'confirm':
        await t.confirm.execute(viewer, { paymentId: command.payment });
        return [];
      case 'question':
        await t.question.execute(viewer, { paymentId: command.payment });
        return [];
      case 'claim': {
        const { keeper: keeperId, animal: animalId, share, since } = command;
        const said = { keeperId, animalId, share, since: day(since), statement: 'It is mine.' };
        const { claimId } = await t.claim.execute(viewer, said);
        const parties = await client.ownershipClaimParty.findMany({
          where: { claimId, number: { gt: 1 } },
          orderBy: { number: 'asc' },
        });
        return [claimId, ...parties.map((party) => party.keeperId ?? party.outsidePartyId ?? '')];
      }
      case 'propose':
        await t.propose.execute(viewer, { claimId: command.claim, shares: [...command.shares] });
        return [];
      case 'agree':
        await t.agree.execute(viewer, { claimId: command.claim, proposal: command.proposal });
        return [];
      case 'reply':
        await t.reply.execute(viewer, { claimId: command.claim, statement: 'It is not.' });
        return [];
      case 'withdrawClaim':
        await t.withdrawClaim.execute(viewer, { claimId: command.claim });
        return [];
    }
  }

  async function loanStep(viewer: Viewer, command: LoanCommand): Promise<Made> {
    switch (command.do) {
      case 'askDay':
      case 'recall': {
        const { transfer: transferId, dueBack } = command;
        await (command.do === 'recall' ? l.recall : l.ask).execute(viewer, { transferId, dueBack: day(dueBack) });
        const where = { transferId };
        return [(await client.loanExtension.findFirstOrThrow({ where, orderBy: { id: 'desc' } })).id];
      }
      case 'answerDay':
        await l.answer.execute(viewer, { extensionId: command.ask, agree: command.agree });
        return [];
      case 'withdrawDay':
        await l.withdraw.execute(viewer, { extensionId: command.ask });
        return [];
      case 'pickYoung': {
        const { transfer: transferId, clutch: clutchId, animals } = command;
        await pickYoung.execute(viewer, { transferId, clutchId, animalIds: [...animals] });
        return [];
      }
    }
  }

  async function codeStep(viewer: Viewer, command: CodeCommand): Promise<Made> {
    switch (command.do) {
      case 'wait':
        w.clock.forward(command.minutes);
        return [];
      case 'openCode': {
        const reason = command.reason ? 'Agreed.' : null;
        return [(await openCode.execute(viewer, { transferId: command.transfer, reason })).code];
      }
      case 'enterCode': {
        const said = { transferId: command.transfer, code: command.code, ...arrivalsOf(command) };
        // What is entered in vain is entered again, as often as was said; the last answer is told.
        for (let i = 1; i < command.tries; i += 1)
          await enterCode.execute(viewer, said).catch((error: unknown) => {
            if (!(error instanceof DomainError)) throw error;
          });
        await enterCode.execute(viewer, said);
        return splitBackOf(command.transfer);
      }
    }
  }

  async function eggStep(viewer: Viewer, command: EggCommand): Promise<Made> {
    const nowhere = { enclosureId: null, incubator: null, celsius: null };
    switch (command.do) {
      case 'lay': {
        const { dam: damId, count: eggCount, separate: separateClutch } = command;
        const said = { damId, laid: exactDay(day(command.laid)), foundOn: null, eggCount, separateClutch };
        return [(await lay.execute(viewer, { ...said, controlled: 'yes' })).clutchId];
      }
      case 'tend': {
        const { clutch: clutchId, eggs, kind, on } = command;
        const candling = kind === 'candled' ? ('fertile' as const) : null;
        await tend.execute(viewer, { clutchId, eggs, kind, when: exactDay(day(on)), candling, ...nowhere });
        return [];
      }
      case 'hatch': {
        const unsaid = { name: null, sex: null, marks: [], countEstimated: false };
        const { animalIds } = await hatch.execute(viewer, {
          ...{ clutchId: command.clutch, keeperId: null, taxonId: null, lineId: null, originClass: null, since: null },
          ...{ when: exactDay(day(command.on)), controlled: 'yes', enclosureId: null, dam: undefined, sire: undefined },
          young: command.young.map(({ egg: eggNumber, count }) => ({ ...unsaid, eggNumber, count })),
        });
        return animalIds;
      }
    }
  }

  async function transferStep(viewer: Viewer, command: TransferCommand): Promise<Made> {
    switch (command.do) {
      case 'offer': {
        const { from: fromKeeperId, to, splitOn, answerBy, kind, title, price, dueBack } = command;
        const { transferId, claimCode } = await w.offer.execute(viewer, {
          fromKeeperId,
          kind,
          title,
          price: price === null ? null : { minor: price, currency: 'EUR' },
          dueBack: dueBack === null ? null : day(dueBack),
          loanTerms: command.loan === null ? null : termsOf(command.loan),
          toKeeperId: to,
          toOutsideParty: to === null ? { name: 'A buyer' } : null,
          items: command.items.map(({ animal: animalId, count, share }) => ({ animalId, count, share })),
          eggs: command.eggs.map(({ clutch: clutchId, numbers, count }) => {
            return { clutchId, numbers: numbers === null ? null : [...numbers], count };
          }),
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
        await w.leaveOut.execute(viewer, {
          transferId: command.transfer,
          animalIds: [...command.animals],
          eggs: command.eggs.map(({ clutch: clutchId, numbers }) => ({ clutchId, numbers: [...numbers] })),
        });
        return [];
      case 'receive': {
        const { transfer: transferId, on, more: moreToCome } = command;
        await w.receive.execute(viewer, { transferId, receivedOn: day(on), moreToCome, ...arrivalsOf(command) });
        return splitBackOf(transferId);
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

    /** New people, and what they begin with, for so many histories: in a number of statements that does not grow with them. */
    async casts(count: number): Promise<Cast[]> {
      w.clock.restart();
      const casts = Array.from({ length: count }, (_, i): Cast => {
        const keepers = [uuid(), uuid(), uuid()];
        const minor = i % 3 === 2 ? (keepers[i % 2] ?? null) : null;
        return { keepers, accounts: [uuid(), uuid(), uuid(), uuid()], minor, stock: stockOf(keepers) };
      });
      const owners = casts.flatMap(({ keepers, accounts }) =>
        keepers.map((keeperId, i) => ({ keeperId, accountId: accounts[i] ?? '' })),
      );
      const keeperIds = owners.map(({ keeperId }) => keeperId);
      await client.account.createMany({
        data: casts.flatMap(({ accounts }) =>
          accounts.map((id) => ({ id, email: `${id}@test.example`, passwordHash: 'none', createdAt: now })),
        ),
      });
      const minors = new Set(casts.map(({ minor }) => minor));
      const minorUntil = new Date('2027-01-01');
      await client.keeper.createMany({
        data: keeperIds.map((id) => {
          const minor = minors.has(id) ? { minorUntil } : {};
          return { id, name: 'A keeper', kind: 'person' as const, createdAt: now, ...minor };
        }),
      });
      const guardians = casts.flatMap(({ minor, accounts }) =>
        minor === null
          ? []
          : [{ keeperId: minor, accountId: accounts[3] ?? '', role: 'guardian' as const, since: now }],
      );
      await client.keeperMember.createMany({
        data: [...owners.map((each) => ({ ...each, role: 'owner' as const, since: now })), ...guardians],
      });
      await client.clubMember.createMany({
        data: keeperIds.map((keeperId) => ({ clubId, keeperId, joinedOn: new Date('2026-01-01') })),
      });
      const stock = casts.flatMap((cast) => cast.stock);
      await uow.writeAsServer(null, async (tx) => {
        const records = stock.map(({ id, kind, keeper: keeperId, count: n, since }) => ({
          id,
          animal: {
            kind,
            taxonId,
            lineId: null,
            count: n,
            countEstimated: false,
            keeperId,
            on: day(since),
            facts: [],
            marks: [],
          },
          parents: [],
          holder: { kind: 'keeper' as const, keeperId },
          from: day(since),
          arrivedBy: 'registered' as const,
          ended: null,
          owners: [{ owner: { kind: 'keeper' as const, keeperId }, parts: 1 }],
        }));
        return decide(await registerAllStock(tx, taxonId, records));
      });
      return casts;
    },

    /** The first moment of a history: later than all its people began with, and early in the day. */
    begin(): void {
      w.clock.restart();
      w.clock.forward(10);
    },

    /** Runs a command as its account, with the roles the account has by the model, which the tables are compared with. */
    async run(model: Model, command: AnyCommand): Promise<Outcome> {
      const viewerOf = (accountId: string): Viewer => ({
        accountId,
        keepers: model.keepersOf(accountId).map((keeperId) => {
          const role = model.roles.get(keeperId)?.get(accountId) ?? 'helper';
          return { keeperId, role, ...(model.isMinors(keeperId) ? { minor: true as const } : {}) };
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

/** What is answered with BUSY wrote nothing and is to be sent again as it is: a machine with too much to do is no fault. */
function sendAgain(uow: UnitOfWork): void {
  const write = uow.write.bind(uow);
  uow.write = async (viewer, request, work) => {
    for (let tries = 1; ; tries += 1)
      try {
        return await write(viewer, request, work);
      } catch (error) {
        if (!(error instanceof DomainError) || error.code !== 'BUSY' || tries === 3) throw error;
      }
  };
}

function termsOf({ recallDays, split }: LoanSaid) {
  if (split === null) return { ...TERMS, recallDays };
  const { lender: lenderParts, of: ofParts, first: firstPick, odd: oddOne } = split;
  const parts = { lenderParts, ofParts };
  const youngSplit =
    firstPick === undefined || oddOne === undefined
      ? { ...parts, method: 'shared' as const, firstPick: null, oddOne: null }
      : { ...parts, method: 'by_turns' as const, firstPick, oddOne };
  return { ...TERMS, recallDays, youngSplit };
}

function arrivalsOf({ items, eggs }: Pick<Arrivals, 'items' | 'eggs'>) {
  return {
    items: items.map(({ animal: animalId, told }) => ({ animalId, arrivals: told as never })),
    eggs: eggs.map(({ clutch: clutchId, numbers, state }) => {
      return { clutchId, numbers: [...numbers], state: state as ArrivalState };
    }),
  };
}

function lotDay({ animal: lotId, count, on }: { animal: string; count: number; on: string }): {
  lotId: string;
  count: number;
  on: Day;
} {
  return { lotId, count, on: day(on) };
}
