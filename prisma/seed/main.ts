import 'reflect-metadata';
import { NestFactory } from '@nestjs/core';
import { AppModule } from '../../apps/api/src/app.module.js';
import { readConfig } from '../../libs/platform/config/index.js';
import { RegistryLogger } from '../../libs/platform/log/index.js';
import { DemoLoader } from './loader.js';
import { CAST, OTHER_MEMBERS } from './people.js';
import { anOpenOffer, frogletsByPost, juvenileAtTheShow } from './scenario.js';

/** Loads the demo once; a start that finds it complete does nothing. */
const app = await NestFactory.createApplicationContext(AppModule.with(readConfig(process.env)), {
  logger: new RegistryLogger(),
});
try {
  const demo = new DemoLoader(app);
  if (!(await demo.isLoaded())) {
    await demo.prepare([...Object.values(CAST), ...OTHER_MEMBERS], 1000);
    await juvenileAtTheShow(demo);
    await frogletsByPost(demo);
    await anOpenOffer(demo);
    await demo.finish();
  }
} finally {
  await app.close();
}
