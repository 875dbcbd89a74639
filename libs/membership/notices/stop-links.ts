import { createHmac, hkdfSync, timingSafeEqual } from 'node:crypto';
import { Inject, Injectable } from '@nestjs/common';
import { CONFIG, type Config } from '../../platform/config/index.js';
import { NOTICE_GROUPS, type NoticeGroup } from './notice-group.core.js';

/** What the link of a mail ends: the mails about one group, or the daily mail. */
export type StopScope = { readonly accountId: string; readonly stops: NoticeGroup | 'digest' };

const SCOPES: readonly StopScope['stops'][] = [...NOTICE_GROUPS, 'digest'];

/**
 * Links by which whoever reads a mail ends more of its kind, without signing in (RFC 8058). The code says account and group and
 * is sealed with a key made from the configured secret, so that it cannot be guessed and is good for nothing else. It has no
 * end: a link in an old mail still has to work.
 */
@Injectable()
export class StopLinks {
  private readonly key: Buffer;

  constructor(@Inject(CONFIG) private readonly config: Pick<Config, 'authSecret' | 'publicUrl'>) {
    this.key = Buffer.from(hkdfSync('sha256', config.authSecret, '', 'kithbook mail stop 1', 32));
  }

  /** The address that ends these mails. */
  linkFor(scope: StopScope): string {
    return `${this.config.publicUrl}/mails/stop/${this.codeFor(scope)}`;
  }

  codeFor({ accountId, stops }: StopScope): string {
    const account = Buffer.from(accountId.replaceAll('-', ''), 'hex').toString('base64url');
    const said = `${account}.${stops}`;
    return `${said}.${this.seal(said)}`;
  }

  /** What a code ends; null for one that this registry did not make. */
  read(code: string): StopScope | null {
    const [account = '', named = '', seal = '', ...more] = code.split('.');
    const given = Buffer.from(seal, 'base64url');
    const due = Buffer.from(this.seal(`${account}.${named}`), 'base64url');
    if (more.length > 0 || given.length !== due.length || !timingSafeEqual(given, due)) return null;
    const stops = SCOPES.find((scope) => scope === named);
    const hex = Buffer.from(account, 'base64url').toString('hex');
    const accountId = hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
    return stops === undefined ? null : { accountId, stops };
  }

  private seal(said: string): string {
    return createHmac('sha256', this.key).update(said).digest('base64url');
  }
}
