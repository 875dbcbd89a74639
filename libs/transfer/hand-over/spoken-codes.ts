import { createHmac, randomInt } from 'node:crypto';
import { Inject, Injectable } from '@nestjs/common';
import { CONFIG, type Config } from '../../platform/config/index.js';
import { sha256Hex } from '../../platform/canonical.js';
import { makeSpokenCode, SHORT_PAYLOAD_LENGTH, type SpokenCode } from './spoken-code.core.js';

/** Makes the codes of papers. */
@Injectable()
export class SpokenCodes {
  constructor(@Inject(CONFIG) private readonly config: Pick<Config, 'authSecret'>) {}

  /**
   * The claim code of a transfer: drawn from HMAC-SHA-256 under the server's secret, so that a repeated request gives the
   * same code and the giver can print it again, while the database holds its hash only. A new secret makes new codes:
   * compare with the stored hash before printing one.
   */
  claimCode(transferId: string): SpokenCode {
    return makeSpokenCode(indexStream(this.config.authSecret, `kithbook claim code ${transferId}`));
  }

  /** The code of a hand-over in person, by the id it was opened under: two groups of five, made like a claim code. */
  handOverCode(handOverId: string): SpokenCode {
    const stream = indexStream(this.config.authSecret, `kithbook hand-over code ${handOverId}`);
    return makeSpokenCode(stream, SHORT_PAYLOAD_LENGTH);
  }

  /** What is stored of the code of a hand-over: too short for a plain hash, it is hashed under the server's secret. */
  handOverHash(handOverId: string, code: SpokenCode): string {
    const label = `kithbook hand-over hash ${handOverId} ${code}`;
    return createHmac('sha256', this.config.authSecret).update(label).digest('hex');
  }

  /** A random code for the public page of a paper. */
  checkCode(): SpokenCode {
    return makeSpokenCode((below) => randomInt(below));
  }

  /** What is stored of a claim code. With 84 bits behind it a plain hash cannot be searched. */
  hash(code: SpokenCode): string {
    return sha256Hex(code);
  }
}

/** Equally likely indexes from a keyed stream of bytes. A byte at or above the last whole multiple of `below` is passed over. */
function indexStream(secret: string, label: string): (below: number) => number {
  let block = 0;
  let bytes: number[] = [];
  const next = (): number => {
    if (bytes.length === 0) bytes = [...createHmac('sha256', secret).update(`${label} ${block++}`).digest()];
    return bytes.shift() ?? 0;
  };
  return (below) => {
    const limit = 256 - (256 % below);
    for (;;) {
      const byte = next();
      if (byte < limit) return byte % below;
    }
  };
}
