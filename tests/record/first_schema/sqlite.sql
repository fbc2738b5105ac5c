BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE attachment (
	digest TEXT NOT NULL, 
	name TEXT NOT NULL, 
	media_type TEXT NOT NULL, 
	size INTEGER NOT NULL, 
	added TEXT NOT NULL, 
	CONSTRAINT pk_attachment PRIMARY KEY (digest)
);
CREATE TABLE counter (
	"key" TEXT NOT NULL, 
	last INTEGER NOT NULL, 
	CONSTRAINT pk_counter PRIMARY KEY ("key")
);
INSERT INTO "counter" VALUES('ST{variant}-{yy}{ww}-{n:04}',5);
CREATE TABLE definition (
	product TEXT NOT NULL, 
	revision TEXT NOT NULL, 
	digest TEXT NOT NULL, 
	content TEXT NOT NULL, 
	first_issued TEXT NOT NULL, 
	CONSTRAINT pk_definition PRIMARY KEY (product, revision), 
	CONSTRAINT uq_definition_digest UNIQUE (digest)
);
INSERT INTO "definition" VALUES('step-stool','A','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','{"approved_by":"rhale","arrival_check":["play"],"crating":{"crate":{"empty_mass":"0.90 kg","inside":"600 × 450 × 120 mm","title":"Carton"},"marks":["keep-dry"],"packing_list":[{"item":"Step stool","mass":"variant"},{"item":"Manual","mass":"0.10 kg"}],"steps":[{"pack":"Tick every item."},{"photo":"Open carton."},{"gauge":"crate-scale","id":"gross-mass","limits":"expected ± 0.25 kg","measure":"Gross mass"}]},"final_checks":[{"confirm":"Nameplate serial equals the serial on this traveler."},{"again":"play","at":[{"name":"side","values":["left"]}]}],"format":"1","gauges":{"crate-scale":{"resolution":"0.05 kg","title":"Platform scale"},"indicator":{"resolution":"0.001 mm","title":"Dial indicator"}},"operations":[{"number":"10","sign":"assembler","steps":[{"do":"Rivet the legs to the treads."},{"fit":"Tread","number":"P-9001","trace":"lot"},{"fit":"Hinge pair","number":"P-9002","trace":"serial"},{"adjust":{"effect":"-0.20 mm/turn","increases":"clockwise","screw":"1.25 mm"},"at":[{"name":"side","values":["left","right"]}],"gauge":"indicator","id":"play","limits":"max 0.05 mm","measure":"Play of the hinge"},{"by":"inspector","witness":"Lock holds under load."},{"confirm":"No burrs felt."}],"title":"Frame"}],"product":"step-stool","revised":"2026-01-12","revision":"A","serials":{"pattern":"ST{variant}-{yy}{ww}-{n:04}"},"title":"Folding step stool","variants":{"2":{"mass":"6.00 kg","title":"Two steps"},"3":{"mass":"7.50 kg","title":"Three steps"}}}','2026-11-02T08:00:00.000000Z');
CREATE TABLE entry (
	unit TEXT NOT NULL, 
	seq INTEGER NOT NULL, 
	at TEXT NOT NULL, 
	recorded TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	slot TEXT, 
	zone TEXT, 
	source TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	body TEXT NOT NULL, 
	previous TEXT NOT NULL, 
	hash TEXT NOT NULL, 
	CONSTRAINT pk_entry PRIMARY KEY (unit, seq), 
	CONSTRAINT fk_entry_unit_unit FOREIGN KEY(unit) REFERENCES unit (serial), 
	CONSTRAINT ck_entry_ck_entry_seq_from_one CHECK (seq > 0)
)
 WITHOUT ROWID

;
INSERT INTO "entry" VALUES('ST2-2645-0001F',1,'2026-11-02T08:00:00.000000Z','2026-11-02T08:00:00.000000Z','rhale',NULL,'Europe/Dublin','tool','issued','{"digest":"f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c","kind":"issued","order":"4471","product":"step-stool","revision":"A","variant":"2"}','0000000000000000000000000000000000000000000000000000000000000000','baaf7a188e0226eef7dbb8ab4094e0b09e76ec82fdd6b5ae1bf8d8333e9ae0ee');
INSERT INTO "entry" VALUES('ST2-2645-0001F',2,'2026-11-02T08:01:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-1','Europe/Dublin','file','ticked','{"kind":"ticked"}','baaf7a188e0226eef7dbb8ab4094e0b09e76ec82fdd6b5ae1bf8d8333e9ae0ee','a7bdfe947841cbcb536752de8fca07929662a7734959faa54c659971406c7206');
INSERT INTO "entry" VALUES('ST2-2645-0001F',3,'2026-11-02T08:03:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-2','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9001","trace":"lot","value":"P-9001/77"}','a7bdfe947841cbcb536752de8fca07929662a7734959faa54c659971406c7206','36573393aa4efa2ccb476c9165a92d07aa2d89a320bd508ecc6b350c83d455d7');
INSERT INTO "entry" VALUES('ST2-2645-0001F',4,'2026-11-02T08:05:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-3','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9002","trace":"serial","value":"P-9002/4100"}','36573393aa4efa2ccb476c9165a92d07aa2d89a320bd508ecc6b350c83d455d7','035651984f5ce8a3daf27bf3a3ff804efe39e41b77cb71fa6bbf3afd44ce5809');
INSERT INTO "entry" VALUES('ST2-2645-0001F',5,'2026-11-02T08:07:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-4/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','035651984f5ce8a3daf27bf3a3ff804efe39e41b77cb71fa6bbf3afd44ce5809','f66aaf44c3f690e3a9765e96f292126ea7c715973d5f31bb0f895e5107f2fc08');
INSERT INTO "entry" VALUES('ST2-2645-0001F',6,'2026-11-02T08:09:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-4/side=right','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.039","written":"0.039"}','f66aaf44c3f690e3a9765e96f292126ea7c715973d5f31bb0f895e5107f2fc08','9ca022263f32da5ad8038d305f1cd65bb77533954d5a0bb7cbe23580d50a7e9e');
INSERT INTO "entry" VALUES('ST2-2645-0001F',7,'2026-11-02T08:11:00.000000Z','2026-11-02T08:26:00.000000Z','iwren','10-5','Europe/Dublin','file','witnessed','{"kind":"witnessed"}','9ca022263f32da5ad8038d305f1cd65bb77533954d5a0bb7cbe23580d50a7e9e','0b389b97ac6248d687e4ab19ad99c092e74618363a9fddb174da49ca9faef321');
INSERT INTO "entry" VALUES('ST2-2645-0001F',8,'2026-11-02T08:13:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10-6','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','0b389b97ac6248d687e4ab19ad99c092e74618363a9fddb174da49ca9faef321','760f3deab8c1995637e6f29ae21945c971f0384af5749f7311a657d1992d4619');
INSERT INTO "entry" VALUES('ST2-2645-0001F',9,'2026-11-02T08:15:00.000000Z','2026-11-02T08:26:00.000000Z','tkiln','10/sign','Europe/Dublin','file','signed','{"kind":"signed"}','760f3deab8c1995637e6f29ae21945c971f0384af5749f7311a657d1992d4619','3405c4abe425bdc8b410e191441d8dc4106aaff0569e9da0cebef1e0dceec355');
INSERT INTO "entry" VALUES('ST2-2645-0001F',10,'2026-11-02T08:17:00.000000Z','2026-11-02T08:26:00.000000Z','iwren','Q-1','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','3405c4abe425bdc8b410e191441d8dc4106aaff0569e9da0cebef1e0dceec355','c330a6de7e8aa9f92940d6f0104033b853748801ee97f25e4154ef9b43902e83');
INSERT INTO "entry" VALUES('ST2-2645-0001F',11,'2026-11-02T08:19:00.000000Z','2026-11-02T08:26:00.000000Z','iwren','Q-2/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','c330a6de7e8aa9f92940d6f0104033b853748801ee97f25e4154ef9b43902e83','c94caa0033335b52c190ccbb397dbcb3fb6eb352eae7a2ec03e0c0981216ad24');
INSERT INTO "entry" VALUES('ST2-2645-0001F',12,'2026-11-02T08:21:00.000000Z','2026-11-02T08:26:00.000000Z','iwren','Q/sign','Europe/Dublin','file','signed','{"kind":"signed"}','c94caa0033335b52c190ccbb397dbcb3fb6eb352eae7a2ec03e0c0981216ad24','60899cf69dd41b7d4452b6c759c5b6d3f7cb134cb4b8d2a37295566c640c8c00');
INSERT INTO "entry" VALUES('ST2-2645-0001F',13,'2026-11-02T10:58:00.000000Z','2026-11-02T10:58:00.000000Z','qmoor',NULL,'Europe/Dublin','tool','released','{"count":12,"head":"60899cf69dd41b7d4452b6c759c5b6d3f7cb134cb4b8d2a37295566c640c8c00","kind":"released"}','60899cf69dd41b7d4452b6c759c5b6d3f7cb134cb4b8d2a37295566c640c8c00','0cbfbc29fe5caf9c5248616a5bd638c19fe63ea2330aff103190ea26fadcb331');
INSERT INTO "entry" VALUES('ST2-2645-0001F',14,'2026-11-02T11:59:00.000000Z','2026-11-02T12:12:00.000000Z','pstrap','C-1/item=1','Europe/Dublin','file','packed','{"kind":"packed"}','0cbfbc29fe5caf9c5248616a5bd638c19fe63ea2330aff103190ea26fadcb331','8454f6c8370a59e14652b78bb3c10756a8b661c44f8b4df5666f7c84cff3d5f5');
INSERT INTO "entry" VALUES('ST2-2645-0001F',15,'2026-11-02T12:01:00.000000Z','2026-11-02T12:12:00.000000Z','pstrap','C-1/item=2','Europe/Dublin','file','packed','{"kind":"packed"}','8454f6c8370a59e14652b78bb3c10756a8b661c44f8b4df5666f7c84cff3d5f5','b267739f11ecf0a59586a75676fd806d2a139c1baef67c626d192fadd5192e7e');
INSERT INTO "entry" VALUES('ST2-2645-0001F',16,'2026-11-02T12:03:00.000000Z','2026-11-02T12:12:00.000000Z','pstrap','C-2','Europe/Dublin','file','photographed','{"kind":"photographed","name":"crate.jpg"}','b267739f11ecf0a59586a75676fd806d2a139c1baef67c626d192fadd5192e7e','8511f78846ef0ecb81340d422b55ae848b32b7d12b72861240dae16f036be0e1');
INSERT INTO "entry" VALUES('ST2-2645-0001F',17,'2026-11-02T12:05:00.000000Z','2026-11-02T12:12:00.000000Z','pstrap','C-3','Europe/Dublin','file','read','{"gauge":"CS-01","kind":"read","unit":"kg","unit_from":"column","value":"7.00","written":"7.00"}','8511f78846ef0ecb81340d422b55ae848b32b7d12b72861240dae16f036be0e1','4c99d64f458f644556cb69c4df339492e019c737408babd9f743875dff3037ea');
INSERT INTO "entry" VALUES('ST2-2645-0001F',18,'2026-11-02T12:07:00.000000Z','2026-11-02T12:12:00.000000Z','pstrap','C/sign','Europe/Dublin','file','signed','{"kind":"signed"}','4c99d64f458f644556cb69c4df339492e019c737408babd9f743875dff3037ea','8c08eac3f951941ac0eb5ad91ac5abce2bd1d1596a5873c923ec8569eab46fb2');
INSERT INTO "entry" VALUES('ST2-2645-0001F',19,'2026-11-02T13:12:00.000000Z','2026-11-02T13:12:00.000000Z','pstrap',NULL,'Europe/Dublin','tool','crated','{"gross_mass":"7.00 kg","kind":"crated"}','8c08eac3f951941ac0eb5ad91ac5abce2bd1d1596a5873c923ec8569eab46fb2','1b49c02df11a092da266d8997e8fa6e6c4398d772ff975b141398c9e33e92a10');
INSERT INTO "entry" VALUES('ST2-2645-0001F',20,'2026-11-02T13:12:00.000000Z','2026-11-02T13:12:00.000000Z','pstrap',NULL,'Europe/Dublin','tool','placed','{"kind":"placed","place":"Bay 3"}','1b49c02df11a092da266d8997e8fa6e6c4398d772ff975b141398c9e33e92a10','e45e63c09e985da19c7f3116a14f6619c7595155e0d80e8b5ee4d042be1ceaab');
INSERT INTO "entry" VALUES('ST2-2645-0001F',21,'2026-11-02T13:12:00.000000Z','2026-11-02T13:12:00.000000Z','sdock',NULL,'Europe/Dublin','tool','shipped','{"carrier":"own van","customer":"Aldermoor Weavers","kind":"shipped","reference":"DN-0093"}','e45e63c09e985da19c7f3116a14f6619c7595155e0d80e8b5ee4d042be1ceaab','f3ec8eaac1178a1bea1eee852a6ee66218cdf7c00ed2db6b26f4070a5b8ade41');
INSERT INTO "entry" VALUES('ST2-2645-0002D',1,'2026-11-02T08:00:00.000000Z','2026-11-02T08:00:00.000000Z','rhale',NULL,'Europe/Dublin','tool','issued','{"digest":"f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c","kind":"issued","order":"4471","product":"step-stool","revision":"A","variant":"2"}','0000000000000000000000000000000000000000000000000000000000000000','445389f42436f5a1017192d87e050d550cf1942e37e2c3267ac4b8138d30eb47');
INSERT INTO "entry" VALUES('ST2-2645-0002D',2,'2026-11-02T08:27:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-1','Europe/Dublin','file','ticked','{"kind":"ticked"}','445389f42436f5a1017192d87e050d550cf1942e37e2c3267ac4b8138d30eb47','7a0d903ad34ccb50fdca6222394f3dd3e189c50c35c488c597599f3ed8ea6153');
INSERT INTO "entry" VALUES('ST2-2645-0002D',3,'2026-11-02T08:29:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-2','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9001","trace":"lot","value":"P-9001/77"}','7a0d903ad34ccb50fdca6222394f3dd3e189c50c35c488c597599f3ed8ea6153','3231779936f1c331519a948deb92d90e02e08580b684c7ffe3dfcc2fbddeb285');
INSERT INTO "entry" VALUES('ST2-2645-0002D',4,'2026-11-02T08:31:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-3','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9002","trace":"serial","value":"P-9002/4110"}','3231779936f1c331519a948deb92d90e02e08580b684c7ffe3dfcc2fbddeb285','48b4eb7d4746acc29e7eac93c046297a0788013dbf60b19eb53b2a7c87fbe75c');
INSERT INTO "entry" VALUES('ST2-2645-0002D',5,'2026-11-02T08:33:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-4/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','48b4eb7d4746acc29e7eac93c046297a0788013dbf60b19eb53b2a7c87fbe75c','8513cec479752893ec3d2ee01af23dda157cae6de126ec5c40d99751f6be0691');
INSERT INTO "entry" VALUES('ST2-2645-0002D',6,'2026-11-02T08:35:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-4/side=right','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.039","written":"0.039"}','8513cec479752893ec3d2ee01af23dda157cae6de126ec5c40d99751f6be0691','31d40d6d2d5cbb81be33f09be42a803a719c6949a28cb4905d963c3cbf02973e');
INSERT INTO "entry" VALUES('ST2-2645-0002D',7,'2026-11-02T08:37:00.000000Z','2026-11-02T08:52:00.000000Z','iwren','10-5','Europe/Dublin','file','witnessed','{"kind":"witnessed"}','31d40d6d2d5cbb81be33f09be42a803a719c6949a28cb4905d963c3cbf02973e','7e78e56eb7a14e6b34fa2bfd309ec097393e997ad284a75abbedbd1b6b6b0336');
INSERT INTO "entry" VALUES('ST2-2645-0002D',8,'2026-11-02T08:39:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10-6','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','7e78e56eb7a14e6b34fa2bfd309ec097393e997ad284a75abbedbd1b6b6b0336','a62a6712f81ef610cb9878ca5d499e475e7cdfb864a7498c38565191272e111e');
INSERT INTO "entry" VALUES('ST2-2645-0002D',9,'2026-11-02T08:41:00.000000Z','2026-11-02T08:52:00.000000Z','tkiln','10/sign','Europe/Dublin','file','signed','{"kind":"signed"}','a62a6712f81ef610cb9878ca5d499e475e7cdfb864a7498c38565191272e111e','3110ae223953703e5058fe5f7929da7a559972f9a0037de992b68077d2bb0b39');
INSERT INTO "entry" VALUES('ST2-2645-0002D',10,'2026-11-02T08:43:00.000000Z','2026-11-02T08:52:00.000000Z','iwren','Q-1','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','3110ae223953703e5058fe5f7929da7a559972f9a0037de992b68077d2bb0b39','996ba6495302e81f5e7cf6456bbc45ab9cfaa34da2cde47bf7c989aa75c77cc6');
INSERT INTO "entry" VALUES('ST2-2645-0002D',11,'2026-11-02T08:45:00.000000Z','2026-11-02T08:52:00.000000Z','iwren','Q-2/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','996ba6495302e81f5e7cf6456bbc45ab9cfaa34da2cde47bf7c989aa75c77cc6','1a0b5219f2a620923918088297b79a9f45c5a3adc49fe0d093a8ea2072bada47');
INSERT INTO "entry" VALUES('ST2-2645-0002D',12,'2026-11-02T08:47:00.000000Z','2026-11-02T08:52:00.000000Z','iwren','Q/sign','Europe/Dublin','file','signed','{"kind":"signed"}','1a0b5219f2a620923918088297b79a9f45c5a3adc49fe0d093a8ea2072bada47','580a280b2a79e243ccf26756da9cb4321a392efb39275b7fcca8bdc919d5f6df');
INSERT INTO "entry" VALUES('ST2-2645-0002D',13,'2026-11-02T10:58:00.000000Z','2026-11-02T10:58:00.000000Z','rhale',NULL,'Europe/Dublin','tool','noted','{"kind":"noted","text":"Customer asked for the long screws – größer."}','580a280b2a79e243ccf26756da9cb4321a392efb39275b7fcca8bdc919d5f6df','4269b5bb0e1e6e59ed40b2affa595e32e5e9e348b4c5d2db67e263bef8e262ec');
INSERT INTO "entry" VALUES('ST2-2645-0002D',14,'2026-11-02T10:58:00.000000Z','2026-11-02T10:58:00.000000Z','qmoor',NULL,'Europe/Dublin','tool','released','{"count":13,"head":"4269b5bb0e1e6e59ed40b2affa595e32e5e9e348b4c5d2db67e263bef8e262ec","kind":"released"}','4269b5bb0e1e6e59ed40b2affa595e32e5e9e348b4c5d2db67e263bef8e262ec','493e7dbbfaa117267c5986a21a1126c95019b99645538ac8298148fe4c07e575');
INSERT INTO "entry" VALUES('ST2-2645-0003B',1,'2026-11-02T08:00:00.000000Z','2026-11-02T08:00:00.000000Z','rhale',NULL,'Europe/Dublin','tool','issued','{"digest":"f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c","kind":"issued","order":"4471","product":"step-stool","revision":"A","variant":"2"}','0000000000000000000000000000000000000000000000000000000000000000','1cd3e5e364eae80437e2ee47be4cd40a57ad6dadd06aacd266c9369fc84dbd2a');
INSERT INTO "entry" VALUES('ST2-2645-0003B',2,'2026-11-02T08:53:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-1','Europe/Dublin','file','ticked','{"kind":"ticked"}','1cd3e5e364eae80437e2ee47be4cd40a57ad6dadd06aacd266c9369fc84dbd2a','cb488b2add1246a4d125a6265b012a7287836681b4a71382d0aa0ba053877e3e');
INSERT INTO "entry" VALUES('ST2-2645-0003B',3,'2026-11-02T08:55:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-2','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9001","trace":"lot","value":"P-9001/77"}','cb488b2add1246a4d125a6265b012a7287836681b4a71382d0aa0ba053877e3e','74b424648bf49f81a4ab8bca424b1980c6311daf313a25ea06cae528869b7b67');
INSERT INTO "entry" VALUES('ST2-2645-0003B',4,'2026-11-02T08:57:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-3','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9002","trace":"serial","value":"P-9002/4120"}','74b424648bf49f81a4ab8bca424b1980c6311daf313a25ea06cae528869b7b67','695e03fce24eff0585c86ba4fd2959a27665efa02f7f06c80a18b6c7a472eced');
INSERT INTO "entry" VALUES('ST2-2645-0003B',5,'2026-11-02T08:59:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-4/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','695e03fce24eff0585c86ba4fd2959a27665efa02f7f06c80a18b6c7a472eced','04525a77a07dac29f1fdf935cafb692f73349db019420a3ea162bc7ce9ed1f04');
INSERT INTO "entry" VALUES('ST2-2645-0003B',6,'2026-11-02T09:01:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-4/side=right','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.039","written":"0.039"}','04525a77a07dac29f1fdf935cafb692f73349db019420a3ea162bc7ce9ed1f04','41f2c5504490a64fb03b59c79d325de7a9ca102cb474cdfe67a44446a1e2fad0');
INSERT INTO "entry" VALUES('ST2-2645-0003B',7,'2026-11-02T09:03:00.000000Z','2026-11-02T09:18:00.000000Z','iwren','10-5','Europe/Dublin','file','witnessed','{"kind":"witnessed"}','41f2c5504490a64fb03b59c79d325de7a9ca102cb474cdfe67a44446a1e2fad0','d052d7c9e6262ea955dba3893329b99cfdbd211a949f5150d0d0afe0ad42f593');
INSERT INTO "entry" VALUES('ST2-2645-0003B',8,'2026-11-02T09:05:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10-6','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','d052d7c9e6262ea955dba3893329b99cfdbd211a949f5150d0d0afe0ad42f593','4fdabe1613129edbb31600f49379b745c8123b578d210b05e28043346065b4d9');
INSERT INTO "entry" VALUES('ST2-2645-0003B',9,'2026-11-02T09:07:00.000000Z','2026-11-02T09:18:00.000000Z','tkiln','10/sign','Europe/Dublin','file','signed','{"kind":"signed"}','4fdabe1613129edbb31600f49379b745c8123b578d210b05e28043346065b4d9','314b231c2485568b2318b055158edba9bacb3c1954982092ac196d0748e768d5');
INSERT INTO "entry" VALUES('ST2-2645-0003B',10,'2026-11-02T09:09:00.000000Z','2026-11-02T09:18:00.000000Z','iwren','Q-1','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','314b231c2485568b2318b055158edba9bacb3c1954982092ac196d0748e768d5','1b5bbb24af05306a1b354798946a82b2df5642b089f02b35754d964d28670018');
INSERT INTO "entry" VALUES('ST2-2645-0003B',11,'2026-11-02T09:11:00.000000Z','2026-11-02T09:18:00.000000Z','iwren','Q-2/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','1b5bbb24af05306a1b354798946a82b2df5642b089f02b35754d964d28670018','e5837f2c7352a669fc9ae2ac12228242c2e1fc4387439c99707c2b3b95e31498');
INSERT INTO "entry" VALUES('ST2-2645-0003B',12,'2026-11-02T09:13:00.000000Z','2026-11-02T09:18:00.000000Z','iwren','Q/sign','Europe/Dublin','file','signed','{"kind":"signed"}','e5837f2c7352a669fc9ae2ac12228242c2e1fc4387439c99707c2b3b95e31498','cc95013ff8986a9bc85dc9cd39d46a71bc4f66189065474e7b7e0497260de040');
INSERT INTO "entry" VALUES('ST2-2645-0003B',13,'2026-11-02T10:58:00.000000Z','2026-11-02T10:58:00.000000Z','tkiln',NULL,'Europe/Dublin','tool','struck','{"kind":"struck","reason":"Wrong tread noted.","strikes":3}','cc95013ff8986a9bc85dc9cd39d46a71bc4f66189065474e7b7e0497260de040','b8b00565a052c90617211d926ddf42a1f8ee50b37c78524ee5bf406d53c76e9e');
INSERT INTO "entry" VALUES('ST2-2645-00049',1,'2026-11-02T08:00:00.000000Z','2026-11-02T08:00:00.000000Z','rhale',NULL,'Europe/Dublin','tool','issued','{"digest":"f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c","kind":"issued","order":"4471","product":"step-stool","revision":"A","variant":"2"}','0000000000000000000000000000000000000000000000000000000000000000','c2326bc6e44850fe19b743742c84ec6397b47c3d71e932f498d943fdbb98e596');
INSERT INTO "entry" VALUES('ST2-2645-00049',2,'2026-11-02T09:19:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-1','Europe/Dublin','file','ticked','{"kind":"ticked"}','c2326bc6e44850fe19b743742c84ec6397b47c3d71e932f498d943fdbb98e596','e69a43abd8f5014a22c8bc7d500d34b1b3c32326111a4fd3b7b5ecbd359ce77a');
INSERT INTO "entry" VALUES('ST2-2645-00049',3,'2026-11-02T09:21:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-2','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9001","trace":"lot","value":"P-9001/77"}','e69a43abd8f5014a22c8bc7d500d34b1b3c32326111a4fd3b7b5ecbd359ce77a','55bd8474548584e8d32924d16b448e8616f0e8769165883003114f4939e51e44');
INSERT INTO "entry" VALUES('ST2-2645-00049',4,'2026-11-02T09:23:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-3','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9002","trace":"serial","value":"P-9002/4130"}','55bd8474548584e8d32924d16b448e8616f0e8769165883003114f4939e51e44','41c5e25d455a07c8dc08cbffa42083b3602164f22636729cf546dbbcadeaadf0');
INSERT INTO "entry" VALUES('ST2-2645-00049',5,'2026-11-02T09:25:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-4/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.071","written":"0.071"}','41c5e25d455a07c8dc08cbffa42083b3602164f22636729cf546dbbcadeaadf0','87b6bc902c5becaad242ef2fdaa92ec32eb66e0b9ebe3e44e94f8a6f54bbea66');
INSERT INTO "entry" VALUES('ST2-2645-00049',6,'2026-11-02T09:27:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-4/side=right','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.039","written":"0.039"}','87b6bc902c5becaad242ef2fdaa92ec32eb66e0b9ebe3e44e94f8a6f54bbea66','6d7ecbd574fae78b26ae5a3481ab8e4331483276715457faa818b865f26ee2cd');
INSERT INTO "entry" VALUES('ST2-2645-00049',7,'2026-11-02T09:29:00.000000Z','2026-11-02T09:38:00.000000Z','iwren','10-5','Europe/Dublin','file','witnessed','{"kind":"witnessed"}','6d7ecbd574fae78b26ae5a3481ab8e4331483276715457faa818b865f26ee2cd','86adc4c06ec0f94d75395a3dedbe0d77b61f79d10372b9f715e90b3b6ea7e481');
INSERT INTO "entry" VALUES('ST2-2645-00049',8,'2026-11-02T09:31:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10-6','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','86adc4c06ec0f94d75395a3dedbe0d77b61f79d10372b9f715e90b3b6ea7e481','7169957821e5fa15dbee927dacfdc90ba8d3a28dab4102858fb91d23c6b3f679');
INSERT INTO "entry" VALUES('ST2-2645-00049',9,'2026-11-02T09:33:00.000000Z','2026-11-02T09:38:00.000000Z','tkiln','10/sign','Europe/Dublin','file','signed','{"kind":"signed"}','7169957821e5fa15dbee927dacfdc90ba8d3a28dab4102858fb91d23c6b3f679','a5a5c87521dd72aa5a25a86533398c6f401887f94756b1f17f11220d6d491d9a');
INSERT INTO "entry" VALUES('ST3-2645-0005V',1,'2026-11-02T08:00:00.000000Z','2026-11-02T08:00:00.000000Z','rhale',NULL,'Europe/Dublin','tool','issued','{"digest":"f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c","kind":"issued","product":"step-stool","revision":"A","variant":"3"}','0000000000000000000000000000000000000000000000000000000000000000','6a5fed9333848cd37e8be21cb235b0906153599e5ca9c7d0384e93127512eadd');
INSERT INTO "entry" VALUES('ST3-2645-0005V',2,'2026-11-02T09:39:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-1','Europe/Dublin','file','ticked','{"kind":"ticked"}','6a5fed9333848cd37e8be21cb235b0906153599e5ca9c7d0384e93127512eadd','e82d779c05e61a1a98ed0cb957e9c9088b28d466752da8a59d21f65435e85235');
INSERT INTO "entry" VALUES('ST3-2645-0005V',3,'2026-11-02T09:41:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-2','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9001","trace":"lot","value":"P-9001/77"}','e82d779c05e61a1a98ed0cb957e9c9088b28d466752da8a59d21f65435e85235','9cf8a603c449c0b34027cc45756191400977c352f0c6342c476f0d65f1e05288');
INSERT INTO "entry" VALUES('ST3-2645-0005V',4,'2026-11-02T09:43:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-3','Europe/Dublin','file','fitted','{"kind":"fitted","number":"P-9002","trace":"serial","value":"P-9002/4140"}','9cf8a603c449c0b34027cc45756191400977c352f0c6342c476f0d65f1e05288','ff55ad4260fd7727ccbe2475723769103bf19d12c6b7c378fd4dbd69dc165bf1');
INSERT INTO "entry" VALUES('ST3-2645-0005V',5,'2026-11-02T09:45:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-4/side=left','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.038","written":"0.038"}','ff55ad4260fd7727ccbe2475723769103bf19d12c6b7c378fd4dbd69dc165bf1','a6b00c6725c8b8d2cfd4380735b6dc64e1bf0e6a210014af4f32286c14413724');
INSERT INTO "entry" VALUES('ST3-2645-0005V',6,'2026-11-02T09:47:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-4/side=right','Europe/Dublin','file','read','{"gauge":"IND-03","kind":"read","unit":"mm","unit_from":"column","value":"0.039","written":"0.039"}','a6b00c6725c8b8d2cfd4380735b6dc64e1bf0e6a210014af4f32286c14413724','fef0f58266e50884fb6e212861af940acea470637daa395daf9bf25d13901934');
INSERT INTO "entry" VALUES('ST3-2645-0005V',7,'2026-11-02T09:49:00.000000Z','2026-11-02T09:58:00.000000Z','iwren','10-5','Europe/Dublin','file','witnessed','{"kind":"witnessed"}','fef0f58266e50884fb6e212861af940acea470637daa395daf9bf25d13901934','bcf9153612a7bc04badf6f567277e0de1ee55815bccebd005d8181b5f4b750c6');
INSERT INTO "entry" VALUES('ST3-2645-0005V',8,'2026-11-02T09:51:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10-6','Europe/Dublin','file','confirmed','{"kind":"confirmed"}','bcf9153612a7bc04badf6f567277e0de1ee55815bccebd005d8181b5f4b750c6','fa8c8e90b6008c541d1d3e3bd76ae61b93714f2e69171dcd0d9b7f3027919e5d');
INSERT INTO "entry" VALUES('ST3-2645-0005V',9,'2026-11-02T09:53:00.000000Z','2026-11-02T09:58:00.000000Z','tkiln','10/sign','Europe/Dublin','file','signed','{"kind":"signed"}','fa8c8e90b6008c541d1d3e3bd76ae61b93714f2e69171dcd0d9b7f3027919e5d','dacf0af08d8631e8d29f6d10795309d6a53c8123ba57221391838a908e1eeaf3');
CREATE TABLE form_token (
	token TEXT NOT NULL, 
	used TEXT NOT NULL, 
	CONSTRAINT pk_form_token PRIMARY KEY (token)
);
CREATE TABLE ref (
	kind TEXT NOT NULL, 
	value TEXT NOT NULL, 
	unit TEXT NOT NULL, 
	seq INTEGER NOT NULL, 
	CONSTRAINT pk_ref PRIMARY KEY (kind, value, unit, seq), 
	CONSTRAINT fk_ref_unit_seq_entry FOREIGN KEY(unit, seq) REFERENCES entry (unit, seq)
)
 WITHOUT ROWID

;
INSERT INTO "ref" VALUES('order','4471','ST2-2645-0001F',1);
INSERT INTO "ref" VALUES('person','RHALE','ST2-2645-0001F',1);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',2);
INSERT INTO "ref" VALUES('lot','P-9001/77','ST2-2645-0001F',3);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',3);
INSERT INTO "ref" VALUES('part_serial','P-9002/4100','ST2-2645-0001F',4);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',4);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0001F',5);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',5);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0001F',6);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',6);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0001F',7);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',8);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0001F',9);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0001F',10);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0001F',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0001F',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0001F',12);
INSERT INTO "ref" VALUES('person','QMOOR','ST2-2645-0001F',13);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',14);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',15);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',16);
INSERT INTO "ref" VALUES('gauge','CS-01','ST2-2645-0001F',17);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',17);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',18);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',19);
INSERT INTO "ref" VALUES('person','PSTRAP','ST2-2645-0001F',20);
INSERT INTO "ref" VALUES('customer','ALDERMOOR WEAVERS','ST2-2645-0001F',21);
INSERT INTO "ref" VALUES('person','SDOCK','ST2-2645-0001F',21);
INSERT INTO "ref" VALUES('order','4471','ST2-2645-0002D',1);
INSERT INTO "ref" VALUES('person','RHALE','ST2-2645-0002D',1);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',2);
INSERT INTO "ref" VALUES('lot','P-9001/77','ST2-2645-0002D',3);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',3);
INSERT INTO "ref" VALUES('part_serial','P-9002/4110','ST2-2645-0002D',4);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',4);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0002D',5);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',5);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0002D',6);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',6);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0002D',7);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',8);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0002D',9);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0002D',10);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0002D',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0002D',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0002D',12);
INSERT INTO "ref" VALUES('person','RHALE','ST2-2645-0002D',13);
INSERT INTO "ref" VALUES('person','QMOOR','ST2-2645-0002D',14);
INSERT INTO "ref" VALUES('order','4471','ST2-2645-0003B',1);
INSERT INTO "ref" VALUES('person','RHALE','ST2-2645-0003B',1);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',2);
INSERT INTO "ref" VALUES('lot','P-9001/77','ST2-2645-0003B',3);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',3);
INSERT INTO "ref" VALUES('part_serial','P-9002/4120','ST2-2645-0003B',4);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',4);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0003B',5);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',5);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0003B',6);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',6);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0003B',7);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',8);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',9);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0003B',10);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-0003B',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0003B',11);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-0003B',12);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-0003B',13);
INSERT INTO "ref" VALUES('order','4471','ST2-2645-00049',1);
INSERT INTO "ref" VALUES('person','RHALE','ST2-2645-00049',1);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',2);
INSERT INTO "ref" VALUES('lot','P-9001/77','ST2-2645-00049',3);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',3);
INSERT INTO "ref" VALUES('part_serial','P-9002/4130','ST2-2645-00049',4);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',4);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-00049',5);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',5);
INSERT INTO "ref" VALUES('gauge','IND-03','ST2-2645-00049',6);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',6);
INSERT INTO "ref" VALUES('person','IWREN','ST2-2645-00049',7);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',8);
INSERT INTO "ref" VALUES('person','TKILN','ST2-2645-00049',9);
INSERT INTO "ref" VALUES('person','RHALE','ST3-2645-0005V',1);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',2);
INSERT INTO "ref" VALUES('lot','P-9001/77','ST3-2645-0005V',3);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',3);
INSERT INTO "ref" VALUES('part_serial','P-9002/4140','ST3-2645-0005V',4);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',4);
INSERT INTO "ref" VALUES('gauge','IND-03','ST3-2645-0005V',5);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',5);
INSERT INTO "ref" VALUES('gauge','IND-03','ST3-2645-0005V',6);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',6);
INSERT INTO "ref" VALUES('person','IWREN','ST3-2645-0005V',7);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',8);
INSERT INTO "ref" VALUES('person','TKILN','ST3-2645-0005V',9);
CREATE TABLE seen_file (
	digest TEXT NOT NULL, 
	unit TEXT NOT NULL, 
	seen TEXT NOT NULL, 
	CONSTRAINT pk_seen_file PRIMARY KEY (digest, unit), 
	CONSTRAINT fk_seen_file_unit_unit FOREIGN KEY(unit) REFERENCES unit (serial)
);
INSERT INTO "seen_file" VALUES('cb47f90f74ef3626f3a4d76cff19d7fcbc42bea6230f16c132fffa4834628f1e','ST2-2645-0001F','2026-11-02T08:26:00.000000Z');
INSERT INTO "seen_file" VALUES('e39fe35e6e813ce42f3a6052dd2499cadeeeda7472da6921f05d7784022d712b','ST2-2645-0002D','2026-11-02T08:52:00.000000Z');
INSERT INTO "seen_file" VALUES('2ab4b53ee708fc927e00a23c24a528d796541dec80d51b01289941e5ab3da920','ST2-2645-0003B','2026-11-02T09:18:00.000000Z');
INSERT INTO "seen_file" VALUES('f63aef1cf681af37d2d4981178fc6551e5bc271905f4668db39e5b0b09ab2144','ST2-2645-00049','2026-11-02T09:38:00.000000Z');
INSERT INTO "seen_file" VALUES('e3cebf8ae9abc6a34e312a6c0a31ff077f5197146b15b624bf0b939597a3e1e7','ST3-2645-0005V','2026-11-02T09:58:00.000000Z');
INSERT INTO "seen_file" VALUES('ea216748b91e19d49fa7ef1e8ec4c3a20fe8f8cbd75ba5eceba1cde3cb2c9fb0','ST2-2645-0001F','2026-11-02T12:12:00.000000Z');
CREATE TABLE unit (
	serial TEXT NOT NULL, 
	product TEXT NOT NULL, 
	revision TEXT NOT NULL, 
	variant TEXT NOT NULL, 
	digest TEXT NOT NULL, 
	issued TEXT NOT NULL, 
	order_reference TEXT, 
	quantity INTEGER, 
	state TEXT NOT NULL, 
	entries INTEGER NOT NULL, 
	head TEXT NOT NULL, 
	CONSTRAINT pk_unit PRIMARY KEY (serial), 
	CONSTRAINT fk_unit_digest_definition FOREIGN KEY(digest) REFERENCES definition (digest), 
	CONSTRAINT ck_unit_ck_unit_entries_counted CHECK (entries >= 0)
);
INSERT INTO "unit" VALUES('ST2-2645-0001F','step-stool','A','2','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','2026-11-02T08:00:00.000000Z','4471',NULL,'shipped',21,'f3ec8eaac1178a1bea1eee852a6ee66218cdf7c00ed2db6b26f4070a5b8ade41');
INSERT INTO "unit" VALUES('ST2-2645-0002D','step-stool','A','2','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','2026-11-02T08:00:00.000000Z','4471',NULL,'released',14,'493e7dbbfaa117267c5986a21a1126c95019b99645538ac8298148fe4c07e575');
INSERT INTO "unit" VALUES('ST2-2645-0003B','step-stool','A','2','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','2026-11-02T08:00:00.000000Z','4471',NULL,'inspection',13,'b8b00565a052c90617211d926ddf42a1f8ee50b37c78524ee5bf406d53c76e9e');
INSERT INTO "unit" VALUES('ST2-2645-00049','step-stool','A','2','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','2026-11-02T08:00:00.000000Z','4471',NULL,'inspection',9,'a5a5c87521dd72aa5a25a86533398c6f401887f94756b1f17f11220d6d491d9a');
INSERT INTO "unit" VALUES('ST3-2645-0005V','step-stool','A','3','f4c7ce95fd1be28163eb0cc68179e394aad370423df448c36ea533887234356c','2026-11-02T08:00:00.000000Z',NULL,NULL,'inspection',9,'dacf0af08d8631e8d29f6d10795309d6a53c8123ba57221391838a908e1eeaf3');
CREATE INDEX ix_unit_product_issued ON unit (product, issued);
CREATE INDEX ix_unit_state_issued ON unit (state, issued);
CREATE INDEX ix_unit_order_reference ON unit (order_reference);
CREATE INDEX ix_unit_digest ON unit (digest);
CREATE INDEX ix_ref_unit_seq ON ref (unit, seq);
CREATE TRIGGER only_append_entry_update BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
CREATE TRIGGER only_append_entry_delete BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
CREATE TRIGGER only_append_ref_update BEFORE UPDATE ON ref BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
CREATE TRIGGER only_append_ref_delete BEFORE DELETE ON ref BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
CREATE TRIGGER only_append_definition_update BEFORE UPDATE ON definition BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
CREATE TRIGGER only_append_definition_delete BEFORE DELETE ON definition BEGIN SELECT RAISE(ABORT, 'what is recorded is only ever added to'); END;
COMMIT;
