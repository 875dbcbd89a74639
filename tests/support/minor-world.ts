import { addDays, dayOf } from '../../libs/kernel/index.js';
import { RegistryWorld, type TestKeeper } from './registry-world.js';
import { type Answer, type TestApp } from './test-app.js';

/** A minor with a keeper and an account of their own, and the account that guards it. */
export type TestMinor = TestKeeper & { readonly guardian: TestKeeper };

/** Makes minors and their guardians, through the API. */
export class MinorWorld extends RegistryWorld {
  constructor(private readonly app: TestApp) {
    super(app);
  }

  run<T = Record<string, never>>(name: string, input: object, who: TestKeeper, fields: string): Promise<Answer<T>> {
    const type = `${name[0]?.toUpperCase()}${name.slice(1)}Input`;
    return this.app.ask(`mutation ($input: ${type}!) { ${name}(input: $input) { ${fields} } }`, { input }, who.token);
  }

  /** A keeper that is a minor's for four years to come, and has no guardian; opening one is tested on its own. */
  async minorAlone(name = 'Young'): Promise<TestKeeper> {
    const young = await this.keeper(name);
    const minorUntil = new Date(addDays(dayOf(new Date()), 4 * 365));
    await this.db.keeper.update({ where: { id: young.keeperId }, data: { minorUntil } });
    return young;
  }

  async minor(): Promise<TestMinor> {
    const [young, guardian] = [await this.minorAlone(), await this.keeper('Guardian')];
    await this.guard(young, guardian);
    return { ...young, guardian };
  }

  /** Makes somebody a guardian, invited by the minor or by another guardian. */
  async guard(young: TestKeeper, guardian: TestKeeper, invitedBy = young): Promise<void> {
    const input = { keeperId: young.keeperId, email: await this.emailOf(guardian), role: 'guardian' };
    const invited = await this.run('inviteToKeeper', input, invitedBy, 'keeperId');
    const accepted = await this.accept(await this.codeFor(guardian), guardian);
    const [error] = [...(invited.errors ?? []), ...(accepted.errors ?? [])];
    if (error !== undefined) throw new Error(error.message);
  }

  /** The short name of a new club with these members. */
  async clubSlug(...members: TestKeeper[]): Promise<string> {
    const id = await this.club(...members);
    const slug = `club-${id.slice(-12)}`;
    await this.db.club.update({ where: { id }, data: { slug } });
    return slug;
  }

  accept(code: string, who: TestKeeper): Promise<Answer<Record<string, never>>> {
    return this.run('acceptInvitation', { code }, who, 'keeper { id }');
  }

  async emailOf({ accountId }: TestKeeper): Promise<string> {
    return (await this.db.account.findUniqueOrThrow({ where: { id: accountId } })).email;
  }

  /** The code of the invitation mailed last to an account. */
  async codeFor({ accountId }: TestKeeper, about = 'invitation:'): Promise<string> {
    const mail = await this.db.mailMessage.findFirstOrThrow({
      where: { accountId, dedupeKey: { startsWith: about } },
      orderBy: { id: 'desc' },
    });
    return /^[\w-]{40,}$/m.exec(mail.text)?.[0] ?? '';
  }

  offer(from: TestKeeper, toKeeperId: string, animalIds: readonly string[], more: object = {}) {
    const items = animalIds.map((animalId) => ({ animalId }));
    return this.run<{ offerTransfer: { transfer: { id: string } } }>(
      'offerTransfer',
      { fromKeeperId: from.keeperId, kind: 'gift', toKeeperId, items, ...more },
      from,
      'transfer { id }',
    );
  }
}
