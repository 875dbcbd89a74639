import { Injectable } from '@nestjs/common';
import { fromDateColumn, fromDateColumnOrNull } from '../../access/index.js';
import { Database, type Prisma } from '../../platform/prisma/index.js';
import { TAKEN_UP_LABEL } from '../../transfer/index.js';
import { toEggEvent } from './export-records.store.js';
import { moment, uncertain } from './uncertain.js';

const day = fromDateColumnOrNull;
/** Which egg, as both sides of a transfer know it. */
const LAID = { edtf: true, earliest: true, latest: true };
const EGG = { number: true, clutch: { select: LAID } };

/** Reads what a keeper had to do with others, animals by id. The caller owns the keeper. */
@Injectable()
export class ExportDealingsStore {
  constructor(private readonly database: Database) {}

  /** Transfers the keeper gives or receives, with the names the two parties see of each other, oldest first. */
  async findTransfers(keeperId: string) {
    const rows = await this.database.client.transfer.findMany({
      where: { OR: [{ fromKeeperId: keeperId }, { toKeeperId: keeperId }] },
      include: {
        fromKeeper: { select: { name: true } },
        toKeeper: { select: { name: true } },
        toOutsideParty: { select: { name: true } },
        items: {
          orderBy: { id: 'asc' },
          include: {
            arrivals: { orderBy: { state: 'asc' } },
            photos: { include: { file: { select: { keeperId: true, originalSha256: true } } } },
          },
        },
        conditions: { orderBy: { id: 'asc' } },
        instalments: { orderBy: { number: 'asc' } },
        payments: { orderBy: { id: 'asc' } },
        countersignatures: { orderBy: { id: 'asc' } },
        eggs: { include: { egg: { select: EGG } }, orderBy: { eggId: 'asc' } },
        handOverCodes: { orderBy: { id: 'asc' } },
        loanTerms: {
          include: { clutches: { include: { young: { orderBy: { animalId: 'asc' } } }, orderBy: { number: 'asc' } } },
        },
        loanExtensions: { orderBy: { id: 'asc' } },
      },
      orderBy: [{ offeredAt: 'asc' }, { id: 'asc' }],
    });
    const shown = await this.database.client.breedingShare.findMany({
      where: { OR: [{ fromKeeperId: keeperId }, { keeperId }] },
      include: { clutch: { select: LAID } },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => ({
      id: row.id,
      side: row.fromKeeperId === keeperId ? ('giver' as const) : ('receiver' as const),
      other: row.fromKeeperId === keeperId ? receiverLabel(row) : row.fromKeeper.name,
      state: row.state,
      kind: row.kind,
      message: row.message,
      price:
        row.priceMinor === null || row.priceCurrency === null
          ? null
          : { minor: String(row.priceMinor), currency: row.priceCurrency },
      offeredAt: row.offeredAt.toISOString(),
      acceptedAt: moment(row.acceptedAt),
      sentOn: day(row.sentOn),
      receivedOn: day(row.receivedOn),
      closedAt: moment(row.closedAt),
      takenUpAt: moment(row.takenUpAt),
      answerBy: day(row.answerBy),
      way: row.way,
      transitRisk: row.transitRisk,
      carrier: row.carrier,
      tracking: row.tracking,
      endedReason: row.endedReason,
      cancelledBy: row.cancelledBy,
      failure: row.failure,
      failureDeclaredBy: row.failureDeclaredBy,
      failureDeclaredAt: moment(row.failureDeclaredAt),
      title: row.title,
      dueBack: day(row.dueBack),
      loanTerms: row.loanTerms === null ? null : loanTerms(row.loanTerms),
      loanDays: row.loanExtensions.map(({ askedBy, askedAt, dueBack, dueBackBefore, answeredAt, outcome }) => ({
        askedBy,
        askedAt: askedAt.toISOString(),
        dueBack: fromDateColumn(dueBack),
        dueBackBefore: fromDateColumn(dueBackBefore),
        answeredAt: moment(answeredAt),
        outcome,
      })),
      loanClutches: (row.loanTerms?.clutches ?? []).map(({ number, recordedAt, young }) => ({
        number,
        recordedAt: recordedAt.toISOString(),
        young: young.map(({ animalId, pickedBy, pickNumber, pickedAt }) => ({
          animalId,
          pickedBy,
          pickNumber,
          pickedAt: moment(pickedAt),
        })),
      })),
      paidUpOn: day(row.paidUpOn),
      instalments: row.instalments.map(({ dueOn, minor }) => ({ dueOn: fromDateColumn(dueOn), minor: String(minor) })),
      payments: row.payments.map(({ minor, paidOn, state, note, answerNote, declaredAt, answeredAt }) => ({
        minor: String(minor),
        paidOn: fromDateColumn(paidOn),
        state,
        note,
        answerNote,
        declaredAt: declaredAt.toISOString(),
        answeredAt: moment(answeredAt),
      })),
      conditions: row.conditions.map(({ kind, documentKind, text, settledAs, settledAt }) => ({
        kind,
        documentKind,
        text,
        settledAs,
        settledAt: moment(settledAt),
      })),
      countersignatures: row.countersignatures
        .filter((each) => isTold(row, keeperId, each))
        .map(({ side, signedAt, voidedAt }) => ({
          side,
          signedAt: signedAt.toISOString(),
          voidedAt: moment(voidedAt),
        })),
      handOverCodes: row.handOverCodes.map(({ openedFor, openedAt, expiresAt, closedAt, usedAt }) => ({
        openedFor,
        openedAt: openedAt.toISOString(),
        expiresAt: expiresAt.toISOString(),
        closedAt: moment(closedAt),
        usedAt: moment(usedAt),
      })),
      breedingShown: shown
        .filter((share) => share.transferId === row.id)
        .map(({ clutch, damId, sharedAt, endedAt }) => ({
          of: clutch === null ? ('dam' as const) : ('clutch' as const),
          animalId: damId,
          laid: clutch === null ? null : uncertain(clutch),
          shownAt: sharedAt.toISOString(),
          endedAt: moment(endedAt),
        })),
      eggs: row.eggs.map(({ egg, notSent, arrival, receivedOn }) => ({
        number: egg.number,
        laid: uncertain(egg.clutch),
        notSent,
        arrival,
        receivedOn: day(receivedOn),
      })),
      items: row.items.map((item) => ({
        animalId: item.animalId,
        count: item.count,
        receivedOn: day(item.receivedOn),
        notSent: item.notSent,
        gravid: item.gravid,
        share: item.shareParts === null || item.shareOf === null ? null : { parts: item.shareParts, of: item.shareOf },
        note: item.note,
        photos: item.photos.map(({ file }) => ({ own: file.keeperId === keeperId, sha256: file.originalSha256 })),
        arrivals: item.arrivals.map((arrival) => ({ state: arrival.state, count: arrival.count })),
      })),
    }));
  }

  /** Papers of the keeper's transfers that one of these accounts issued. */
  async findPapers(keeperId: string, accountIds: readonly string[]) {
    return this.database.client.recordPaper.findMany({
      where: {
        issuedBy: { in: [...accountIds] },
        transfer: { OR: [{ fromKeeperId: keeperId }, { toKeeperId: keeperId }] },
      },
      select: { transferId: true, checkCode: true, issuedAt: true, content: true },
      orderBy: [{ issuedAt: 'asc' }, { id: 'asc' }],
    });
  }

  /** Threads with all messages, oldest first. The name of the other side is read only where both names are shown. */
  async findThreads(keeperId: string) {
    const rows = await this.database.client.askThread.findMany({
      where: { OR: [{ askerKeeperId: keeperId }, { holderKeeperId: keeperId }] },
      include: {
        messages: { orderBy: [{ sentAt: 'asc' }, { id: 'asc' }] },
        askerKeeper: { select: { name: true } },
        holderKeeper: { select: { name: true } },
      },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => {
      const side = row.askerKeeperId === keeperId ? ('asker' as const) : ('holder' as const);
      const other = side === 'asker' ? row.holderKeeper : row.askerKeeper;
      const shown = row.revealedAt !== null;
      return {
        side,
        other: shown ? other.name : null,
        animalId: row.animalId,
        aboutAnimalId: side === 'asker' || shown ? row.aboutAnimalId : null,
        openedAt: row.openedAt.toISOString(),
        closedAt: row.closedAt?.toISOString() ?? null,
        messages: row.messages.map((message) => ({
          own: message.side === side,
          text: message.text,
          sentAt: message.sentAt.toISOString(),
        })),
      };
    });
  }

  /** What the keeper stated of thefts, and what was stated to it. The reference of the police is its reporter's alone. */
  async findThefts(keeperId: string) {
    const rows = await this.database.client.theftReport.findMany({
      where: { OR: [{ keeperId }, { respondentId: keeperId }] },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => {
      const side = row.keeperId === keeperId ? ('reporter' as const) : ('respondent' as const);
      const { animalId, policeInformed, statement, reply } = row;
      return {
        side,
        animalId,
        policeInformed,
        policeReference: side === 'reporter' ? row.policeReference : null,
        statement,
        reportedAt: row.reportedAt.toISOString(),
        reply,
        repliedAt: row.repliedAt?.toISOString() ?? null,
        closedAt: row.closedAt?.toISOString() ?? null,
      };
    });
  }

  /** Claims of ownership the keeper made or answers. The words of other parties than the claimant are theirs and the claimant's. */
  async findOwnershipClaims(keeperId: string) {
    const rows = await this.database.client.ownershipClaim.findMany({
      where: { OR: [{ claimantId: keeperId }, { parties: { some: { keeperId } } }] },
      include: { parties: { orderBy: { number: 'asc' } } },
      orderBy: { id: 'asc' },
    });
    return rows.map((row) => {
      const side = row.claimantId === keeperId ? ('claimant' as const) : ('party' as const);
      return {
        side,
        animalId: row.animalId,
        statement: row.statement,
        share: { parts: row.shareParts, of: row.shareOf },
        since: fromDateColumn(row.since),
        madeAt: row.madeAt.toISOString(),
        endedAt: moment(row.endedAt),
        outcome: row.outcome,
        proposal: row.proposal,
        proposedAt: moment(row.proposedAt),
        awaitsClaimantSince: moment(row.awaitsClaimantSince),
        parties: row.parties.map((party) => {
          const own = party.keeperId === keeperId;
          return {
            own,
            reply: own || side === 'claimant' ? party.reply : null,
            repliedAt: moment(party.repliedAt),
            recordedParts: party.recordedParts,
            proposedParts: party.proposedParts,
            agreedTo: party.agreedTo,
          };
        }),
      };
    });
  }

  /** Eggs the keeper received, with the days it had each. */
  async findEggsHeld(keeperId: string) {
    const rows = await this.database.client.eggCustody.findMany({
      where: { keeperId },
      include: {
        egg: {
          select: { ...EGG, events: { where: { supersededAt: null, keeperId }, orderBy: { id: 'asc' } } },
        },
      },
      orderBy: [{ recordedAt: 'asc' }, { id: 'asc' }],
    });
    return rows.map(({ transferId, egg, validFrom, validTo }) => ({
      transferId,
      number: egg.number,
      laid: uncertain(egg.clutch),
      from: fromDateColumn(validFrom),
      to: day(validTo),
      events: egg.events.map(toEggEvent),
    }));
  }

  /** Parties without an account whom the keeper recorded. */
  async findOutsideParties(keeperId: string) {
    return this.database.client.outsideParty.findMany({
      where: { recordedFor: keeperId },
      select: { name: true, contact: true, createdAt: true },
      orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
    });
  }
}

/** That the other side needs one is told once the offer was accepted; what was given and taken back before is not. */
function isTold(
  row: { fromKeeperId: string; acceptedAt: Date | null },
  keeperId: string,
  { side, voidedAt }: { side: 'giver' | 'receiver'; voidedAt: Date | null },
): boolean {
  if (side === (row.fromKeeperId === keeperId ? 'giver' : 'receiver')) return true;
  return row.acceptedAt !== null && (voidedAt === null || voidedAt >= row.acceptedAt);
}

function loanTerms(row: Prisma.LoanTermsModel) {
  const { valueMinor, valueCurrency, lenderParts, ofParts, splitMethod: method, firstPick, oddOne } = row;
  return {
    recallDays: row.recallDays,
    keepCosts: row.keepCosts,
    vetCosts: row.vetCosts,
    onDeath: row.onDeath,
    value:
      valueMinor === null || valueCurrency === null ? null : { minor: String(valueMinor), currency: valueCurrency },
    youngSplit:
      method === null || lenderParts === null || ofParts === null
        ? null
        : { method, lenderParts, ofParts, firstPick, oddOne },
    youngBredBy: row.youngBredBy,
  };
}

function receiverLabel(row: {
  takenUpAt: Date | null;
  toKeeper: { name: string } | null;
  toOutsideParty: { name: string } | null;
}): string {
  return row.takenUpAt === null ? ((row.toKeeper ?? row.toOutsideParty)?.name ?? '') : TAKEN_UP_LABEL;
}
