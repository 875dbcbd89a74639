import { Injectable } from '@nestjs/common';
import { actsFor, forbidden, notFound, owns, type Viewer } from '../../kernel/index.js';
import { AnimalReadStore } from '../../animal/index.js';
import { AccountStore } from '../../membership/index.js';
import { type ExportDocument } from '../document/export-document.schema.js';
import { ExportPersonStore } from '../store/export-person.store.js';
import { numberOf } from './export-animals.js';

type Person = Pick<
  ExportDocument,
  | 'account'
  | 'keeper'
  | 'people'
  | 'invitations'
  | 'clubs'
  | 'clubApplications'
  | 'clubInvitations'
  | 'collections'
  | 'sharing'
  | 'readingGrants'
  | 'guestReading'
  | 'offices'
  | 'mails'
  | 'notices'
>;

/** Reads a keeper, its people and clubs, and what the account that asks has of its own. */
@Injectable()
export class ExportPerson {
  constructor(
    private readonly accounts: AccountStore,
    private readonly animals: AnimalReadStore,
    private readonly store: ExportPersonStore,
  ) {}

  /**
   * Also the viewer as if it acted for this keeper alone, and the accounts that act or acted for it. NOT_FOUND for a keeper the
   * viewer does not act for, FORBIDDEN for a helper: prices and contacts are the owner's.
   */
  async read(viewer: Viewer, keeperId: string): Promise<{ alone: Viewer; accountIds: string[]; person: Person }> {
    if (!actsFor(viewer, keeperId)) throw notFound('keeper');
    if (!owns(viewer, keeperId)) throw forbidden('Only an owner of the keeper takes its records out.');
    const keeper = (await this.accounts.findOwnKeepers(viewer)).find((each) => each.id === keeperId);
    if (keeper === undefined) throw notFound('keeper');
    const { id, name, kind, region, holdingsShown, lineageShared, clubs } = keeper;
    const { minorUntil, accountIds, collections, ...people } = await this.store.findKeeper(keeperId);
    const sharing = await this.store.findSharing(keeperId);
    const grants = await this.store.findReadingGrants(keeperId);
    const guest = await this.store.findGuestReading(keeperId);
    const alone: Viewer = {
      ...viewer,
      keepers: viewer.keepers.filter((each) => each.keeperId === keeperId),
      clubIds: clubs.map((club) => club.id),
    };
    const ids = [...collections.flatMap(({ stays }) => stays), ...sharing, ...grants, ...guest].flatMap(
      ({ animalId }) => animalId ?? [],
    );
    const views = await this.animals.findVisible(alone, [...new Set(ids)]);
    const named = <T extends { animalId: string | null }>({ animalId, ...row }: T) => ({
      ...row,
      animal: animalId === null ? null : numberOf(views.get(animalId)),
    });
    const person = {
      account: await this.store.findAccount(viewer.accountId),
      keeper: { id, name, kind, region, holdingsShown, lineageShared, minorUntil },
      ...people,
      clubInvitations: await this.store.findClubInvitations(keeperId, viewer.accountId),
      collections: collections.map(({ stays, ...part }) => ({ ...part, stays: stays.map(named) })),
      sharing: sharing.map(named),
      readingGrants: grants.map(named),
      guestReading: guest.map(named),
      offices: await this.store.findOffices(viewer.accountId),
      mails: await this.store.findMails(viewer.accountId),
      notices: await this.store.findNotices(keeperId, viewer.accountId),
    };
    return { alone, accountIds, person };
  }
}
