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
    super({
      jwtFromRequest: ExtractJwt.fromAuthHeaderAsBearerToken(),
      secretOrKey: config.authSecret,
      algorithms: ['HS256'],
    });
  }

  validate(payload: unknown): Principal | false {
    const parsed = claims.safeParse(payload);
    return parsed.success ? { accountId: parsed.data.sub, sessionId: parsed.data.sid } : false;
  }
}
