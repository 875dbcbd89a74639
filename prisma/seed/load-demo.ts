import { NestFactory } from '@nestjs/core';
import { AppModule } from '../../apps/api/src/app.module.js';
import { type Config } from '../../libs/platform/config/index.js';
import { RegistryLogger } from '../../libs/platform/log/index.js';
import { DemoLoader } from './loader.js';
import { CAST, MINOR, OTHER_MEMBERS } from './people.js';
import { aClutchDue, aDocumentThatLapses, aQuarantine } from './scenario-care.js';
import { anOpenOffer, frogletsByPost, juvenileAtTheShow } from './scenario-handover.js';
import { aBreedingLoan } from './scenario-loan.js';
import { aLoneFemale } from './scenario-mate.js';
import { aContradictedClaim, anHonestGap } from './scenario-origin.js';
import {
  aClubThatIsFound,
  aHandOverAwaited,
  aMinorReceives,
  anOpenClaim,
  aSaleInInstalments,
  whatFreyaShows,
} from './scenario-terms.js';

/** Plays the scenario through the application's own use cases. */
export async function loadDemo(config: Config): Promise<void> {
  const app = await NestFactory.createApplicationContext(AppModule.with(config), { logger: new RegistryLogger() });
  try {
    const demo = new DemoLoader(app);
    await demo.prepare([...Object.values(CAST), ...OTHER_MEMBERS, MINOR], 1000);
    await juvenileAtTheShow(demo);
    await frogletsByPost(demo);
    await anOpenOffer(demo);
    await aLoneFemale(demo);
    await aContradictedClaim(demo);
    await anHonestGap(demo);
    await aDocumentThatLapses(demo);
    await aQuarantine(demo);
    await aClutchDue(demo);
    await aHandOverAwaited(demo);
    await aSaleInInstalments(demo);
    await aBreedingLoan(demo);
    await anOpenClaim(demo);
    await whatFreyaShows(demo);
    await aMinorReceives(demo);
    await aClubThatIsFound(demo);
    await demo.finish();
  } finally {
    await app.close();
  }
}
