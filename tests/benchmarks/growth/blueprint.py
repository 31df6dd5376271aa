"""The blueprint of a synthetic car: what sits where, with which ends, sized by names in braces.

A line that begins at the margin is a part: its station, price, weight and attributes. The indented
lines below it are its ends: role, kind, side ("-" for none) and values. A word that begins with "?"
limits a part or an end to cars of that style, "^" names the size by which a family has a parent
family, "set" puts a part into the matched set of the car, "=" asks for the parent family of another
station. The names of stations, roles and kinds are those of the ontology; nothing else is.
"""

from __future__ import annotations

TEXT = """
body 8200 330
 arm-mounts MS int centreDistance={arm} boltDiameter=14
 body-controller-socket CN socket connectorFamily=OC_body ways=8 key={controller_key} contact=controller.offers
 body-pipe HU ext thread={union} unionSeat=inverted_flare
 body-switch-socket CN socket connectorFamily=OC_body ways=8 key={harness_key} contact=switch.body
 brake-unit-socket CN socket connectorFamily=OC_brake ways=26 key={brake_key} contact=supply.offers ?abs
 clutch-pipe HU ext thread={union} unionSeat=inverted_flare
 crossmember-rails MS int centreDistance={rails} boltDiameter=12
 damper-tower MS int centreDistance={damper_top} boltDiameter=10
 dash-socket CN socket connectorFamily=OC_dash ways=16 key={dash_key} contact=supply.offers
 front-drive-seat MS int centreDistance={front_seat} boltDiameter=12
 hand-lever MS int centreDistance={hand_lever} boltDiameter=8 eyeWidth=10
 master-pipe HU ext thread={union} unionSeat=inverted_flare
 rail-position LE - length={rail}
 servo-face FS int pattern=circle bolts=2 spacing={servo} boltSize=8 register={servo_register}
 strut-tower FS int pattern=circle bolts=3 spacing={tower} boltSize=10 register={tower_register}
 subframe-rails MS int centreDistance={subframe} boltDiameter=16
 to-front-drive LE - length={to_front}
 to-rear-drive LE - length={to_rear}
 tunnel-opening LE - length={tunnel} plungeIn=25 plungeOut=25
engine 4800 136 engineMaxSpeed=6200 engineTorque={torque}
 crank-flange FS ext pattern=circle bolts={crank_bolts} spacing={crank} boltSize=10 register={crank_register}
 engine-face FS ext pattern=circle bolts=8 spacing={bell} boltSize=10 register=12
 engine-torque CA demand torque={torque}
flywheel 284 8.9 set
 cover-seat FS ext pattern=circle bolts=6 spacing={cover} boltSize=8 register={cover_register}
 flywheel-bolts FS int pattern=circle bolts={crank_bolts} spacing={crank} boltSize=10 register={crank_register}
 ring-gear LE - length={ring_gear}
 spigot-bore BS int diameter={spigot} fitCode=N7
clutch-cover 141 4.3 clampLoad={clamp} set
 clutch-torque CA capability torque={clutch_torque}
 cover-flange FS int pattern=circle bolts=6 spacing={cover} boltSize=8 register={cover_register}
 push-fingers BS int diameter={release} fitCode=H8 ?push
 pull-ring BS int diameter={release} fitCode=H8 ?pull
clutch-disc 84 1.1 facingOuter={facing} facingInner=150 friction=0.35 frictionFaces=2 set
 disc-spline SP int form={input} engagement=24
spigot-bearing 11 0.04
 spigot-inner BS int diameter={nose} fitCode=H7
 spigot-shell BS ext diameter={spigot} fitCode=h6
release-bearing 36 0.4
 bearing-ears MS ext centreDistance={ears} boltDiameter=6
 push-collar BS ext diameter={release} fitCode=h8 ?push
 pull-collar BS ext diameter={release} fitCode=h8 ?pull
release-fork 33 0.6
 fork-ends MS int centreDistance={ears} boltDiameter=6
 fork-eye MS ext centreDistance={fork} boltDiameter=12 eyeWidth=21.5
slave-cylinder 54 0.6
 slave-lugs MS ext centreDistance={slave} boltDiameter=10
 slave-port HU int thread={union} unionSeat=inverted_flare
starter 178 3.4
 starter-nose BS ext diameter={starter} fitCode=f8
 starter-pinion LE - length=11.25
gearbox 1420 43 gear1=3.55 gear2=1.95 gear3=1.35 gear4=1.00 gear5=0.78
 bell-housing FS int pattern=circle bolts=8 spacing={bell} boltSize=10 register=12
 fork-pivot MS int centreDistance={fork} boltDiameter=12 eyeWidth=22
 gearbox-length LE - length={gearbox}
 gearbox-torque CA capability torque={gearbox_torque}
 input-nose BS ext diameter={nose} fitCode=h6
 input-spline SP ext form={input} engagement=40
 lever-position LE - length={lever}
 lever-seat MS int centreDistance={lever_seat} boltDiameter=8
 mount-pad MS ext centreDistance={pad_width} boltDiameter=10
 output-spline SP ext form={output} engagement=45
 pad-position LE - length={pad}
 rear-face FS ext pattern=circle bolts=6 spacing={rear_face} boltSize=10 register=110
 slave-seat MS int centreDistance={slave} boltDiameter=10
 speed-port BS int diameter={port} fitCode=H8 ?pulse
 starter-bore BS int diameter={starter} fitCode=H8
 starter-centre LE - length={starter_centre}
 switch-plug CN plug connectorFamily=OC_sealed ways={switch_ways} key={switch_key} contact=switch.plug
gear-lever 58 0.8
 lever-base MS ext centreDistance={lever_seat} boltDiameter=8
 lever-crank LE - length={crank_of_lever}
gearbox-mount 39 0.9
 mount-foot MS ext centreDistance={foot} boltDiameter=10
 mount-top MS int centreDistance={pad_width} boltDiameter=10
gearbox-crossmember 104 5.2
 crossmember-ends MS ext centreDistance={rails} boltDiameter=12
 crossmember-offset LE - length={offset} plungeIn=6 plungeOut=6
 crossmember-seat MS int centreDistance={foot} boltDiameter=10 slotLength=6
transfer-box 1190 31 outputHeight=430 outputSlope=1.5 transferHigh=1.00 transferLow=2.30
 coil-plug CN plug connectorFamily=OC_sealed ways=2 key=B contact=coil.needs ?heavy
 front-output FS int pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 rear-output FS int pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 transfer-face FS int pattern=circle bolts=6 spacing={rear_face} boltSize=10 register=110
 transfer-front LE - length={transfer_front}
 transfer-length LE - length={transfer}
 transfer-spline SP int form={output} engagement=42
centre-controller 412 0.6 ?heavy
 coil-socket CN socket connectorFamily=OC_sealed ways=2 key=B contact=coil.offers
 controller-plug CN plug connectorFamily=OC_body ways=8 key={controller_key} contact=controller.needs
switch-harness 63 0.5
 switch-socket CN socket connectorFamily=OC_sealed ways={switch_ways} key={switch_key} contact=switch.socket
 harness-plug CN plug connectorFamily=OC_body ways=8 key={harness_key} contact=switch.harness
speed-sensor 58 0.1 ?pulse
 sender-body BS ext diameter={port} fitCode=f8
 speed-out SG source signalQuantity=vehicle_speed signalForm=pulse pulsesPerTurn={pulses}
dashboard 365 1.5
 dash-plug CN plug connectorFamily=OC_dash ways=16 key={dash_key} contact=supply.needs
 speed-in SG sink signalQuantity=vehicle_speed signalForm=pulse pulsesPerTurn={pulses} ?pulse
 speed-bus-in SG sink signalQuantity=vehicle_speed signalForm=bus_message ?bus
brake-controller 640 3.2 ?abs
 brake-unit-plug CN plug connectorFamily=OC_brake ways=26 key={brake_key} contact=supply.needs
 speed-bus SG source signalQuantity=vehicle_speed signalForm=bus_message ?bus
 wheel-speed-in SG sink signalQuantity=wheel_speed signalForm=pulse
front-propshaft 232 6.4 tubeOuter=63.5 tubeWall=1.65
 prop-front-flange FS ext pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 prop-length LE - length={front_prop} plungeIn=20 plungeOut=20
 prop-rear-flange FS ext pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
rear-propshaft 292 9.4 tubeOuter=76.2 tubeWall=2.1
 prop-front-flange FS ext pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 prop-length LE - length={rear_prop} plungeIn=20 plungeOut=20
 prop-rear-flange FS ext pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
front-final-drive 540 24 pinionHeight=400 pinionSlope=1.0
 drive-mount MS ext centreDistance={front_seat} boltDiameter=12
 drive-spline SP int form={front_inner} engagement=36
 drive-width LE - length={front_width}
 final-ratio RA - drivenTeeth={driven} drivingTeeth={driving}
 pinion-spline SP ext form={front_pinion} engagement=30
 seal-bore BS int diameter={front_shell} fitCode=H8
front-companion-flange 46 0.9
 flange-face FS int pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 flange-spline SP int form={front_pinion} engagement=28
front-drive-seal 10 0.05
 seal-lip BS int diameter={front_land} fitCode=H8
 seal-shell BS ext diameter={front_shell} fitCode=p7
rear-final-drive 598 28 pinionHeight=390 pinionSlope=1.0
 drive-mount MS ext centreDistance={rear_seat} boltDiameter=14
 drive-spline SP int form={rear_inner} engagement=36
 drive-width LE - length={rear_width}
 final-ratio RA - drivenTeeth={driven} drivingTeeth={driving}
 nose-length LE - length={nose_length}
 pinion-spline SP ext form={pinion} engagement=30
 seal-bore BS int diameter={rear_shell} fitCode=H8
rear-companion-flange 48 1.0
 flange-face FS int pattern=square bolts=4 spacing={flange} boltSize={flange_bolt} register={flange_register}
 flange-spline SP int form={pinion} engagement=28
rear-drive-seal 12 0.05
 seal-lip BS int diameter={rear_land} fitCode=H8
 seal-shell BS ext diameter={rear_shell} fitCode=p7
rear-subframe 405 22
 drive-seat MS int centreDistance={rear_seat} boltDiameter=14
 link-seats MS int centreDistance={link_inner} boltDiameter=14 eyeWidth=51
 subframe-bushes MS ext centreDistance={subframe} boltDiameter=16
front-half-shaft 198 5.9
 inner-spline SP ext form={front_inner} engagement=36 engagementNeeded=26
 outer-spline SP ext form={axle} fitClass=5h engagement=44
 seal-land BS ext diameter={front_land} fitCode=h8
 shaft-length LE - length={front_shaft} plungeIn=15 plungeOut=15
rear-half-shaft 206 6.1
 inner-spline SP ext form={rear_inner} engagement=36 engagementNeeded=26
 outer-spline SP ext form={axle} fitClass=5h engagement=44
 seal-land BS ext diameter={rear_land} fitCode=h8
 shaft-length LE - length={rear_shaft} plungeIn=15 plungeOut=15
front-hub 104 2.9 faceReach=75 ^circle
 cartridge-flange FS ext pattern=circle bolts=4 spacing={cartridge} boltSize=12 register={cartridge_register} ?cartridge
 hub-journal BS ext diameter={front_journal} fitCode=k6 ?pressed
 hub-face BC ext form={circle} pilot={spigot_of_hub} thread=M12x1.25 seatForm=cone60
 hub-spline SP int form={axle} engagement=42 engagementNeeded=32
 ring-seat BS ext diameter={front_ring} fitCode=p6 ?abs
front-hub-bearing 29 0.55 ?pressed
 bearing-bore BS int diameter={front_journal} fitCode=H6
 bearing-shell BS ext diameter={front_bore} fitCode=h6
front-knuckle 148 4.6
 ball-bore BS int diameter={ball} fitCode=H8
 carrier-ears MS int centreDistance={front_ears} boltDiameter=12
 cartridge-seat FS int pattern=circle bolts=4 spacing={cartridge} boltSize=12 register={cartridge_register} ?cartridge
 knuckle-bore BS int diameter={front_bore} fitCode=P7 ?pressed
 rod-bore BS int diameter={rod} fitCode=H8
 sensor-bore BS int diameter={sensor} fitCode=H8 ?abs
 strut-tab MS ext centreDistance={strut} boltDiameter=14 eyeWidth=30
front-control-arm 97 3.9
 arm-bushes MS ext centreDistance={arm} boltDiameter=14
 ball-stud BS ext diameter={ball} fitCode=h8
 track LE - length={front_track}
tie-rod 37 1.1
 rod-stud BS ext diameter={rod} fitCode=h8
front-strut 128 4.8
 strut-clamp MS int centreDistance={strut} boltDiameter=14 eyeWidth=30.5
 strut-top FS ext pattern=circle bolts=3 spacing={tower} boltSize=10 register={tower_register}
front-rotor 72 8.2 effectiveRadius={front_effective} ^circle
 rotor-edge EN inner step=22/44/{front_rotor}
 rotor-face BC int form={circle} pilot={bore_of_wheel}
 rotor-track EN outer step=16/50/{front_rotor}
front-carrier 52 1.6
 carrier-lugs MS ext centreDistance={front_ears} boltDiameter=12
 carrier-pins MS int centreDistance={slides} boltDiameter=10
front-calliper 186 4.2 padFriction=0.38 pistonDiameter=57.0 pistonsPerSide=1
 calliper-bridge EN outer step=10/56/{front_bridge}
 calliper-port HU int thread={union} unionSeat=banjo
 calliper-profile EN inner step=-20/62/{front_profile}
 calliper-slides MS ext centreDistance={slides} boltDiameter=10
 pad-reach EN inner step=16/50/{front_pads}
front-brake-hose 21 0.2
 hose-body-union HU int thread={union} unionSeat=inverted_flare
 hose-union HU ext thread={union} unionSeat=banjo
front-tone-ring 18 0.2 ?abs
 ring-bore BS int diameter={front_ring} fitCode=H7
 ring-pulses SG source signalQuantity=wheel_turns signalForm=pulse pulsesPerTurn={ring_teeth}
front-wheel-sensor 52 0.12 ?abs
 sensor-body BS ext diameter={sensor} fitCode=h8
 sensor-reads SG sink signalQuantity=wheel_turns signalForm=pulse pulsesPerTurn={ring_teeth}
 wheel-speed SG source signalQuantity=wheel_speed signalForm=pulse
front-wheel 178 17.5 ^circle rimDiameter={rim} rimWidth=7.0 wheelOffset=45
 rolling RA - ratio={rolling}
 wheel-barrel EN outer step=-62/92/{barrel}
 wheel-face BC int form={circle} pilot={bore_of_wheel} seatForm=cone60
rear-hub 96 2.9 faceReach=62 ^circle =rear-backing-plate
 hub-boss EN inner step=-12/18/{boss}
 hub-face BC ext form={circle} pilot={spigot_of_hub} thread=M12x1.25 seatForm=cone60
 hub-journal BS ext diameter={rear_journal} fitCode=k6
 hub-spline SP int form={axle} engagement=42 engagementNeeded=32
 ring-seat BS ext diameter={rear_ring} fitCode=p6 ?abs
rear-hub-bearing 38 0.62
 bearing-bore BS int diameter={rear_journal} fitCode=H6
 bearing-shell BS ext diameter={rear_bore} fitCode=h6
rear-knuckle 156 5.3
 damper-mount MS int centreDistance={damper} boltDiameter=12 eyeWidth=46
 knuckle-bore BS int diameter={rear_bore} fitCode=P7
 link-mount MS int centreDistance={link_outer} boltDiameter=14 eyeWidth=44
 plate-seat FS ext pattern=circle bolts=4 spacing={plate} boltSize=10 register={plate_register}
 sensor-bore BS int diameter={sensor} fitCode=H8 ?abs
 track LE - length={rear_track}
rear-links 81 3.1
 link-inner MS ext centreDistance={link_inner} boltDiameter=14 eyeWidth=50
 link-outer MS ext centreDistance={link_outer} boltDiameter=14 eyeWidth=44
rear-damper 66 2.7
 damper-eye MS ext centreDistance={damper} boltDiameter=12 eyeWidth=45.5
 damper-top MS ext centreDistance={damper_top} boltDiameter=10
rear-backing-plate 64 2.2 ^boss
 brake-anchor MS int centreDistance={anchor} boltDiameter=10 ?disc
 calliper-ears MS int centreDistance={lugs} boltDiameter=12 ?disc
 cylinder-seat MS int centreDistance={cylinder} boltDiameter=8 ?drum
 drum-shoe-pins MS int centreDistance={drum_pins} boltDiameter=10 ?drum
 plate-flange FS int pattern=circle bolts=4 spacing={plate} boltSize=10 register={plate_register}
 plate-opening EN outer step=0/6/{opening}
parking-brake 66 1.2 ^drum =parking-brake-shoes ~clearance=0.5 ?disc
 brake-base MS ext centreDistance={anchor} boltDiameter=10
 brake-lever MS int centreDistance={cable} boltDiameter=6 eyeWidth=8
 brake-profile EN inner step=12/40/{brake_outside}
 shoe-pins MS int centreDistance={pins} boltDiameter=8
parking-brake-shoes 36 0.8 ^drum ~seatClearance=0.5 ?disc
 shoe-arc BS ext diameter={drum} fitCode=f8
 shoe-webs MS ext centreDistance={pins} boltDiameter=8
parking-brake-cable 46 1.2
 cable-end MS ext centreDistance={hand_lever} boltDiameter=8 eyeWidth=9
 cable-eye MS ext centreDistance={cable} boltDiameter=6 eyeWidth=7 ?disc
rear-calliper 158 3.2 padFriction=0.38 pistonDiameter=38.0 pistonsPerSide=1 ?disc
 calliper-bridge EN outer step=10/56/{rear_bridge}
 calliper-lugs MS ext centreDistance={lugs} boltDiameter=12
 calliper-port HU int thread={union} unionSeat=banjo
 calliper-profile EN inner step=-20/62/{rear_profile}
 pad-reach EN inner step=16/50/{rear_pads}
rear-rotor 61 6.4 effectiveRadius={rear_effective} ^circle ?disc
 drum-face BS int diameter={drum} fitCode=H9
 rotor-edge EN inner step=22/44/{rear_rotor}
 rotor-face BC int form={circle} pilot={bore_of_wheel}
 rotor-hat EN outer step=6/44/{hat}
 rotor-track EN outer step=16/50/{rear_rotor}
rear-drum 58 5.6 drumRadius={drum_radius} ^circle ?drum
 brake-drum-face BS int diameter={big_drum} fitCode=H9
 rotor-face BC int form={circle} pilot={bore_of_wheel}
rear-brake-shoes 36 1.5 ~seatClearance=0.6 ?drum
 brake-shoe-arc BS ext diameter={big_drum} fitCode=f8
 drum-shoe-webs MS ext centreDistance={drum_pins} boltDiameter=10
rear-wheel-cylinder 27 0.4 cylinderBore=20.6 ?drum
 calliper-port HU int thread={union} unionSeat=bubble_flare
 cylinder-base MS ext centreDistance={cylinder} boltDiameter=8
rear-brake-hose 19 0.2
 hose-body-union HU int thread={union} unionSeat=inverted_flare
 hose-union HU ext thread={union} unionSeat={rear_hose_seat}
rear-tone-ring 18 0.2 ?abs
 ring-bore BS int diameter={rear_ring} fitCode=H7
 ring-pulses SG source signalQuantity=wheel_turns signalForm=pulse pulsesPerTurn={ring_teeth}
rear-wheel-sensor 52 0.12 ?abs
 sensor-body BS ext diameter={sensor} fitCode=h8
 sensor-reads SG sink signalQuantity=wheel_turns signalForm=pulse pulsesPerTurn={ring_teeth}
 wheel-speed SG source signalQuantity=wheel_speed signalForm=pulse
rear-wheel 178 17.5 ^circle rimDiameter={rim} rimWidth=7.0 wheelOffset=45
 rolling RA - ratio={rolling}
 wheel-barrel EN outer step=-62/92/{barrel}
 wheel-face BC int form={circle} pilot={bore_of_wheel} seatForm=cone60
master-cylinder 149 1.3
 master-flange FS ext pattern=circle bolts=2 spacing={servo} boltSize=8 register={servo_register}
 master-port HU int thread={union} unionSeat=inverted_flare
"""
