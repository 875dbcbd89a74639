import { type DynamicModule, Module } from '@nestjs/common';
import { AnimalModule } from '../../../libs/animal/index.js';
import { BreedingModule } from '../../../libs/breeding/index.js';
import { CustodyModule } from '../../../libs/custody/index.js';
import { DocumentModule } from '../../../libs/document/index.js';
import { ExchangeModule } from '../../../libs/exchange/index.js';
import { HealthModule } from '../../../libs/health/index.js';
import { HousingModule } from '../../../libs/housing/index.js';
import { LineageModule } from '../../../libs/lineage/index.js';
import { MatchingModule } from '../../../libs/matching/index.js';
import { MembershipModule, Viewers } from '../../../libs/membership/index.js';
import { AuthModule } from '../../../libs/platform/auth/index.js';
import { type Config, ConfigModule } from '../../../libs/platform/config/index.js';
import { GraphqlPlumbingModule } from '../../../libs/platform/graphql/index.js';
import { LiveModule } from '../../../libs/platform/live/index.js';
import { PrismaModule } from '../../../libs/platform/prisma/index.js';
import { StockModule } from '../../../libs/stock/index.js';
import { RateLimitModule } from '../../../libs/platform/rate-limit/index.js';
import { ProvenanceModule } from '../../../libs/provenance/index.js';
import { TaxonModule } from '../../../libs/taxon/index.js';
import { TransferModule } from '../../../libs/transfer/index.js';
import { HealthController } from './health.controller.js';

/** Everything the API serves. `schemaFile` is where the SDL is written at boot, or true to keep it in memory. */
@Module({})
export class AppModule {
  static with(config: Config, schemaFile: string | true = true): DynamicModule {
    return {
      module: AppModule,
      imports: [
        ConfigModule.with(config),
        PrismaModule,
        RateLimitModule,
        AuthModule,
        GraphqlPlumbingModule.with({ schemaFile }),
        MembershipModule,
        LiveModule.with(MembershipModule, Viewers),
        TaxonModule,
        AnimalModule,
        LineageModule,
        CustodyModule,
        DocumentModule,
        HealthModule,
        HousingModule,
        BreedingModule,
        ProvenanceModule,
        ExchangeModule,
        TransferModule,
        MatchingModule,
        StockModule,
      ],
      controllers: [HealthController],
    };
  }
}
