%
(a tag: rounded frame, eyelet, hook, bow and a ramp that winds down)
N10 G21 G90 G94 G17 G40 G49 G80
N20 G54 G61
N30 T1 M6
N40 S9000 M3
N50 G4 P2
N60 M8
N70 G0 Z10
N80 X5 Y0
N90 Z1
N100 G1 Z-0.2 F60
(frame, 40 by 20 with corners of radius 5, two by centre and two by radius)
N110 X35 F300
N120 G3 X40 Y5 J5
N130 G1 Y15
N140 G3 X35 Y20 I-5
N150 G1 X5
N160 G3 X0 Y15 R5
N170 G1 Y5
N180 G3 X5 Y0 R5
N190 G0 Z1
(eyelet, a whole circle of radius 2)
N200 X8 Y14
N210 G1 Z-0.2
N220 G2 X8 I-2
N230 G0 Z1
(hook, three quarters of a circle of radius 3)
N240 X23 Y10
N250 G1 Z-0.2
N260 G3 X20 Y7 I-3
N270 G0 Z1
(bow, half a circle of radius 3, standing in XZ)
N280 X25 Y5
N290 G1 Z-0.2
N300 G18 G3 X31 I3
N310 G0 Z1
(ramp, two turns of radius 1.5 down 0.6 in all, incremental)
N320 G17 X34 Y10
N330 G91
N340 G2 X0 J1.5 Z-0.3
N350 X0 J1.5 Z-0.3
N360 G90
N370 M5 M9
N380 G0 G53 Z0
N390 M30
%
