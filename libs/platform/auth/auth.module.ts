import { Global, Module } from '@nestjs/common';
import { JwtModule } from '@nestjs/jwt';
import { CONFIG, type Config } from '../config/index.js';
import { AccessTokens } from './access-tokens.js';
import { JwtStrategy } from './jwt.strategy.js';

@Global()
@Module({
  imports: [
    JwtModule.registerAsync({
      useFactory: (config: Config) => ({ secret: config.authSecret, signOptions: { algorithm: 'HS256' } }),
      inject: [CONFIG],
    }),
  ],
  providers: [AccessTokens, JwtStrategy],
  exports: [AccessTokens],
})
export class AuthModule {}
