import { createSecretKey } from 'node:crypto';
import { Inject, Injectable } from '@nestjs/common';
import { PassportStrategy } from '@nestjs/passport';
import { ExtractJwt, Strategy } from 'passport-jwt';
import { z } from 'zod';
import { CONFIG, type Config } from '../config/index.js';
import { type Principal } from './authenticate.js';

const claims = z.object({ sub: z.uuid(), sid: z.uuid() });

/** Passport strategy `jwt`: `Authorization: Bearer <token>`, HS256, signed with the configured secret. Gives account and session. */
@Injectable()
export class JwtStrategy extends PassportStrategy(Strategy, 'jwt') {
  constructor(@Inject(CONFIG) config: Config) {
    // As a key object: given as text it would be tried, and fail, as a public key for every request. The types lag behind.
    const secret = createSecretKey(config.authSecret, 'utf8') as unknown as Buffer;
    super({
      jwtFromRequest: ExtractJwt.fromAuthHeaderAsBearerToken(),
      secretOrKeyProvider: (_request, _token, done) => done(null, secret),
      algorithms: ['HS256'],
    });
  }

  validate(payload: unknown): Principal | false {
    const parsed = claims.safeParse(payload);
    return parsed.success ? { accountId: parsed.data.sub, sessionId: parsed.data.sid } : false;
  }
}
