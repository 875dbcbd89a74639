import { createCipheriv, createDecipheriv, createHmac } from 'node:crypto';
import { Inject, Injectable } from '@nestjs/common';
import { CONFIG, type Config } from '../../platform/config/index.js';

/**
 * Ids in cursors of lists in which some animals stand without identity: the cursor of such a one must not name it. A UUID
 * is one block of AES-128 under a key of the server's secret and the list, so that the same animal looks different in each
 * list; all servers with the secret read one another's.
 */
@Injectable()
export class SealedIds {
  constructor(@Inject(CONFIG) private readonly config: Pick<Config, 'authSecret'>) {}

  /** @param list what the list belongs to */
  seal(id: string, list: string): string {
    const cipher = createCipheriv('aes-128-ecb', this.key(list), null).setAutoPadding(false);
    return Buffer.concat([cipher.update(id.replaceAll('-', ''), 'hex'), cipher.final()]).toString('base64url');
  }

  /** The id; null for what cannot be one. Text made up by a client may open to an id that nothing has. */
  open(sealed: string, list: string): string | null {
    const bytes = Buffer.from(sealed, 'base64url');
    if (bytes.length !== 16 || bytes.toString('base64url') !== sealed) return null;
    const decipher = createDecipheriv('aes-128-ecb', this.key(list), null).setAutoPadding(false);
    const hex = Buffer.concat([decipher.update(bytes), decipher.final()]).toString('hex');
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
  }

  private key(list: string): Buffer {
    return createHmac('sha256', this.config.authSecret).update(`kithbook sealed id ${list}`).digest().subarray(0, 16);
  }
}
